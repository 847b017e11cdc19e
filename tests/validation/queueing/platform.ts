/** The few systems that the cases are run on, of elements of the model. Queues are unlimited unless said. */
import type { DeviceSpec, IssueSpec, MasterSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { buffer, clock, device, master, system } from '../../model/platform.js';
import type { Span } from './experiment.js';
import type { Subject, Way } from './gather.js';
import { CYCLE_PS } from './tally.js';

export const SERVER = 'server';

/** One request is one burst of one beat, and as many may be under way as there are. */
const single: Partial<MasterSpec> = { maxReads: 1e9, size: { kind: 'fixed', value: 16 } };

/** Sources straight at a device, none of them with a clock: no time passes on the way. */
export function atServer(
  issues: readonly IssueSpec[],
  server: Partial<DeviceSpec>,
  source: Partial<MasterSpec> = {},
): SystemSpec {
  const masters = issues.map((issue, n) =>
    master(`m${n}`, SERVER, 'data', { ...single, clock: null, issue, ...source }),
  );
  return system([device(SERVER, server)], [buffer('data', SERVER)], masters, []);
}

/** The same in one clock, of a cycle of theory: a request is at the server one cycle after it was wanted. */
export function atClockedServer(issues: readonly IssueSpec[], server: Partial<DeviceSpec>): SystemSpec {
  const masters = issues.map((issue, n) => master(`m${n}`, SERVER, 'data', { ...single, clock: 'cycle', issue }));
  const elements = [device(SERVER, { clock: 'cycle', ...server })];
  return system(elements, [buffer('data', SERVER)], masters, [clock('cycle', CYCLE_PS)]);
}

/** Window for so many requests of a replication at a rate (requests a cycle), after so many cycles. */
export function spanOf(requests: number, rate: number, warmupCycles: number): Span {
  return { warmupPs: Math.ceil(warmupCycles) * CYCLE_PS, durationPs: Math.ceil(requests / rate) * CYCLE_PS };
}

/** All requests of `count` masters. */
export function everyone(count: number, way: Way): Map<string, Subject> {
  return new Map([['all', { masters: Array.from({ length: count }, (_, n) => n), way }]]);
}
