import fc from 'fast-check';
import { CoherenceUnit } from '../../../src/model/coherence/coherence-unit.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { SystemSpec } from '../../../src/scenario/scenario.js';
import { bedOf, setups } from '../../model/coherence/random-traffic.js';
import { parse, systemOf } from '../../scenarios/shipped.js';
import type { Comparison, Depth } from '../outside-check.js';
import { CoherenceWatch } from './invariants.js';
import { INCLUSION, MESI } from './sources.js';

/** Random traffic on small units, and on a whole chip; the tags are looked at while it runs. */

const EXTENT = {
  quick: { units: 16, looks: 800 },
  full: { units: 250, looks: 8000 },
} as const;

/** Cycles between looks at a small unit: no divisor of what happens there. */
const CYCLES = 11;
const MOST_CYCLES = 200_000;
const LOOK_PS = 97_000;

/**
 * Four cores and a coherent port on few lines that all of them read and write, with caches that they overflow, DRAM behind
 * and a stream that keeps it busy.
 */
const CHIP = `
platform:
  preset: quad-core-fabric
  cores: { l1: { size: 2 KiB, ways: 2 } }
  coherence: { cluster: { l2: { size: 8 KiB, ways: 4, inclusive: INCLUSIVE }, miss_entries: 6, min_miss_entries: 1, writeback_slots: 2 } }
buffers:
  shared: { memory: ddr, size: 16 KiB }
  stream: { memory: ddr, size: 1 MiB, cached: no }
masters:
  core0: &core
    core: yes
    buffer: shared
    operations: { read_share: 60 % }
    addresses: { pattern: zipf, exponent: 0.6 }
    size: 8 B
    issue: { process: dependent, think: { exponential: { mean: 5 ns } } }
  core1: { <<: *core }
  core2: { <<: *core }
  core3: { <<: *core }
  device:
    attach: coherent0
    width: 128 bit
    burst: 8 beats
    outstanding: 4
    buffer: shared
    operations: { read_share: 50 % }
    addresses: { pattern: random, align: 16 B }
    size: { uniform: [16 B, 128 B] }
    issue: { process: poisson, rate: 400 MB/s }
  busy: { attach: fabric0, width: 128 bit, buffer: stream, operations: { read_share: 50 % }, issue: greedy }
run: { seed: 5 }
`;

/** What was seen on many small units, then on a chip whose shared cache is inclusive and on one where it is not. */
function watchTraffic(depth: Depth, progress: (share: number) => void): CoherenceWatch {
  const watch = new CoherenceWatch();
  const { units, looks } = EXTENT[depth];
  for (const [i, setup] of fc.sample(setups, { seed: 20_31, numRuns: units }).entries()) {
    if (setup.model === 'structural') watchUnit(setup, watch);
    progress((0.5 * i) / units);
  }
  for (const [i, inclusive] of ['yes', 'no'].entries()) {
    watchChip(systemOf(parse(CHIP.replace('INCLUSIVE', inclusive)), 'base'), looks, watch);
    progress(0.75 + 0.25 * i);
  }
  return watch;
}

function watchUnit(setup: Parameters<typeof bedOf>[0], watch: CoherenceWatch): void {
  const bed = bedOf(setup);
  for (let cycles = CYCLES; cycles < MOST_CYCLES; cycles += CYCLES) {
    bed.run(cycles);
    watch.look(bed.unit);
    if (bed.context.calendar.empty) return;
  }
  throw new Error('the traffic of a unit does not end');
}

function watchChip(spec: SystemSpec, looks: number, watch: CoherenceWatch): void {
  const durationPs = looks * LOOK_PS;
  const options = { seed: spec.run.seed, replication: 1, warmupPs: 0, durationPs, drainPs: 0 };
  const { model, context } = new Simulation(spec, options);
  const unit = model.elements.find((element) => element instanceof CoherenceUnit)!;
  for (const master of model.masters) master.start();
  for (let look = 1; look <= looks; look++) {
    context.calendar.run(look * LOOK_PS);
    watch.look(unit);
  }
}

/** None of what may not be, and enough of what makes that mean something. */
export function invariantChecks(depth: Depth, progress: (share: number) => void): Comparison[] {
  const watch = watchTraffic(depth, progress);
  const never = (check: string, source: string, measured: number): Comparison => ({
    check: `random traffic: ${check}`,
    source,
    unit: 'copies',
    expected: 0,
    measured,
  });
  const least: number = EXTENT[depth].looks;
  const seen = (check: string, measured: number, expected = least): Comparison => ({
    ...never(`${check} that were looked at`, 'so that the checks above mean something', measured),
    expected,
    relation: 'at_least',
  });
  return [
    never('copies that an inclusive shared cache does not have', INCLUSION, watch.notIncluded),
    never('copies beside one that may be written to', MESI, watch.besideAWriter),
    never('lines of which two private caches have changed data', MESI, watch.changedTwice),
    never('copies that the duplicate tags do not know, or not in their state', MESI, watch.unknown),
    never('lines in two ways of one cache', 'elementary', watch.twice),
    never(
      'instants with more write-backs waiting than slots',
      'the unit says how many slots it has',
      watch.beyondSlots,
    ),
    seen('instants', watch.looks, 2 * least),
    seen('copies that may be written to', watch.owned),
    seen('copies that may be read only', watch.shared),
    seen('lines held by several private caches', watch.heldBySeveral),
  ];
}
