import { poolStudy } from '../../../src/measure/tables/pool.js';
import type { LatencyRow } from '../../../src/measure/tables/rows.js';
import { studyNow } from '../../study/study-now.js';
import type { Scenario } from '../../../src/scenario/scenario.js';
import { read, withMasters, withRun } from '../../scenarios/shipped.js';
import type { Comparison, Depth } from '../outside-check.js';
import { COMMON_PRACTICE } from './common-practice.js';

/**
 * The shipped scenario of a core's loop under full load, its state once in on-chip memory beside the coherence unit and once
 * in cached DDR: how far its latencies spread in each replication. As shipped nobody else uses the on-chip memory; then one of
 * the streams of the fabric goes there too.
 */

const US = 1_000_000;
const KIB = 1024;
const EXTENT = {
  quick: { replications: 2, durationPs: 100 * US },
  full: { replications: 6, durationPs: 1000 * US },
};

/** Measures of jitter, in ns. */
const JITTER: Readonly<Record<string, (row: LatencyRow) => number>> = {
  'standard deviation': ({ stdevPs }) => stdevPs! / 1000,
  'largest less smallest latency': ({ minPs, maxPs }) => (maxPs! - minPs!) / 1000,
};

/** Every replication: the largest jitter out of on-chip memory against the smallest out of DDR. */
export function onChipChecks(depth: Depth): Comparison[] {
  const { replications, durationPs } = EXTENT[depth];
  const run = { replications, durationPs, warmupPs: 200 * US, drainPs: 200 * US };
  const scenario = withRun(read('control-loop.yaml'), run);
  return [
    ...jitterChecks(scenario, 'a loop under load', replications),
    ...jitterChecks(withStreamOnChip(scenario), 'a loop beside a stream of the fabric there too', replications),
  ];
}

function jitterChecks(scenario: Scenario, loop: string, replications: number): Comparison[] {
  const { latency } = poolStudy(studyNow(scenario));
  const rows = (placement: string): LatencyRow[] =>
    latency.filter(
      (row) =>
        row.placement === placement && row.master === 'loop' && row.level === 'burst' && row.replication !== 'all',
    );
  return Object.entries(JITTER).map(([name, jitterOf]): Comparison => {
    const [onChip, ddr] = ['onchip', 'ddr'].map((placement) => rows(placement).map(jitterOf));
    if (onChip!.length !== replications || ddr!.length !== replications) throw new Error('a replication is missing');
    return {
      check: `on-chip memory: ${name} of ${loop}, the largest against the smallest out of cached DDR`,
      source: COMMON_PRACTICE,
      unit: 'ns',
      expected: Math.min(...ddr!),
      measured: Math.max(...onChip!),
      relation: 'at_most',
    };
  });
}

/** One of the streams reads and writes in the on-chip memory, in both placements. */
function withStreamOnChip(scenario: Scenario): Scenario {
  const near = { name: 'near', memory: 'onchip', baseBytes: 64 * KIB, bytes: 64 * KIB, cached: 'no' as const };
  return {
    ...scenario,
    systems: scenario.systems.map((system) => ({
      ...withMasters(system, (master) => (master.name === 'pull2' ? { ...master, buffer: 'near' } : master)),
      buffers: [...system.buffers, near],
    })),
  };
}
