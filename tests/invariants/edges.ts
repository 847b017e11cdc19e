import type { ClockSpec } from '../../src/scenario/scenario.js';
import { nameOf } from './burst-record.js';
import type { Invariant } from './invariant.js';

/**
 * What number 8 takes from the engine, and so cannot see: where the edges of a clock lie. They are worked out here once more,
 * in whole numbers of any size.
 */
export const edges: Invariant = {
  number: 8,
  name: 'edges',
  states: 'masters and elements act at edges of their clocks: whole numbers of periods, to the nearest picosecond',
  *breaches({ observation: { watch, system } }) {
    for (const record of watch.records) {
      // the accesses of a core with a private cache end wherever it goes on
      if (record.lost || record.core || record.route.immediate) continue;
      const name = nameOf(record, system.masters);
      const off = (clock: string | null, timePs: number): boolean =>
        clock !== null && system.clocks.has(clock) && !isEdge(system.clocks.get(clock)!, timePs);
      for (const [hop, timePs] of record.grantedAt.slice(0, -1).entries()) {
        const { clock } = record.route.hops[hop]!;
        if (off(clock.name, timePs)) yield `${name} is granted at ${timePs}, which is no edge of ${clock.name}`;
      }
      // fills and write-backs belong to no master's clock
      if (record.number < 0) continue;
      const { clock } = system.masters[record.master]!;
      for (const timePs of [record.acceptedAt, record.doneAt])
        if (off(clock, timePs)) yield `${name} is accepted or done at ${timePs}, which is no edge of ${clock}`;
    }
  },
};

/** Edge k lies at k periods, to the nearest picosecond; of two as near the later. */
function isEdge({ numerator, denominator }: ClockSpec, timePs: number): boolean {
  if (denominator === 1) return timePs % numerator === 0;
  const [n, d, t] = [BigInt(numerator), BigInt(denominator), BigInt(timePs)];
  const below = (t * d) / n;
  return [below, below + 1n].some((k) => (2n * k * n + d) / (2n * d) === t);
}
