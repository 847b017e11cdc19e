import seedrandom from 'seedrandom';
import { studentQuantile } from '../../../src/measure/statistics/student.js';
import { Probe } from '../../../src/model/probe.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { DistributionSpec } from '../../../src/scenario/scenario.js';
import { buffer, device, master, system } from '../../model/platform.js';
import type { Comparison, Depth } from '../outside-check.js';
import type { ReferenceRow } from '../reference-table.js';
import { boundChecks, given, rowsOf } from './bounded.js';

/** Bounds on the mean wait of a queue, at one device that serves one request after the other. */

/** A cycle takes long enough for a picosecond to be as good as nothing. */
const CYCLE_PS = 1e6;
const EXTENT = { quick: { replications: 8, requests: 25_000 }, full: { replications: 20, requests: 60_000 } };
const WARM_UP = 5000;
/** One chance in a hundred that either row's nearness fails by accident. */
const ERROR = 0.01 / 2;
/** The bound is approached as the load goes to 1; at 0.9 the mean wait is this near at least. */
const NEAR = 0.85;

/** Mean service of the rows, and two ways to have their variances: without memory, or of two lengths. */
const MEAN_SERVICE = 16;
const SERVICES: Readonly<Record<number, DistributionSpec>> = {
  256: { kind: 'exponential', mean: MEAN_SERVICE * CYCLE_PS },
  576: { kind: 'table', values: [4 * CYCLE_PS, 64 * CYCLE_PS], weights: [4, 1] },
};

/** Every row of bounds on means: the mean wait and the half width of its interval. */
export function meanBoundChecks(depth: Depth): Comparison[] {
  return rowsOf('mean_bound').flatMap((row) => {
    const means = Array.from({ length: EXTENT[depth].replications }, (_, i) => meanWait(row, i + 1, depth));
    const mean = means.reduce((sum, x) => sum + x, 0) / means.length;
    const variance = means.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (means.length - 1);
    const half = studentQuantile(1 - ERROR / 2, means.length - 1) * Math.sqrt(variance / means.length);
    const [never, near] = boundChecks(row, { most: mean, factor: NEAR });
    return [never!, { ...near!, tolerance: half }];
  });
}

/** Waits of requests after the warm-up. */
class Waits extends Probe {
  sum = 0;
  count = 0;
  simulation!: Simulation;

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.number[slot]! < WARM_UP) return;
    this.sum += bursts.enteredAt[slot]! - bursts.wantedAt[slot]!;
    this.count++;
  }
}

/** Mean wait of one replication, in cycles. */
function meanWait(row: ReferenceRow, replication: number, depth: Depth): number {
  const service = SERVICES[given(row, 'var_service')]!;
  const count = WARM_UP + EXTENT[depth].requests;
  const entries = arrivals(row, count, replication).map((timePs) => ({ timePs, write: false, address: 0, bytes: 16 }));
  const issue = { process: 'trace', file: '', entries } as const;
  const spec = system(
    [device('server', { service })],
    [buffer('data', 'server')],
    [master('source', 'server', 'data', { clock: null, maxReads: 1e9, issue })],
  );
  const probe = new Waits();
  const durationPs = entries.at(-1)!.timePs + 1;
  probe.simulation = new Simulation(spec, {
    seed: 'mean bounds',
    replication,
    warmupPs: 0,
    durationPs,
    drainPs: Infinity,
    probe,
  });
  probe.simulation.run();
  return probe.sum / probe.count / CYCLE_PS;
}

/** Instants of arrival: gaps of the mean and variance that a row says, of two lengths that come as often as each other. */
function arrivals(row: ReferenceRow, count: number, replication: number): number[] {
  const random = seedrandom.xor4096(`gaps ${replication}`);
  const mean = 1 / given(row, 'lambda');
  const deviation = Math.sqrt(given(row, 'var_interarrival'));
  let at = 0;
  return Array.from({ length: count }, () => {
    at += mean + (random() < 0.5 ? -deviation : deviation);
    return Math.round(at * CYCLE_PS);
  });
}
