import { describe, expect, it } from 'vitest';
import { Watches } from '../../../src/measure/journey/watches.js';

/** Bursts that are all watched, of whatever path; and of each path. */
const WHOLE = 2048;
const OF_EACH_PATH = 128;
/** A path that has had its own first ones. */
const LATER = OF_EACH_PATH;
const STEP_PS = 1000;
const START_PS = 5_000_000;

/** One burst each nanosecond from START_PS on: for how many each stands. */
function weights(watches: Watches, count: number): number[] {
  return Array.from({ length: count }, (_, n) => {
    const now = START_PS + n * STEP_PS;
    const weight = watches.weightOf(LATER, now);
    watches.offer(now);
    return weight;
  });
}

describe('Watches', () => {
  it('watch all of the first bursts, then a share of the time that halves after 1, 3, 7 ... times as long', () => {
    const all = weights(new Watches(1), 15 * WHOLE);
    expect(new Set(all.slice(0, WHOLE))).toEqual(new Set([1]));
    for (const [from, share] of [
      [1, 2],
      [3, 4],
      [7, 8],
    ] as const) {
      const span = all.slice(from * WHOLE, (2 * from + 1) * WHOLE);
      // away from the ends, which lie within a step or two of where the spans of time do
      expect(new Set(span.slice(20, -20))).toEqual(new Set([0, share]));
      // a slot of 128 ns of each group of as many: as many as the share says, but for the ends of slots
      const watched = span.filter((weight) => weight > 0).length;
      expect(Math.abs(watched - span.length / share)).toBeLessThan(40);
    }
  });

  it('watch whole slots of time, one of each group, and not always the same', () => {
    const all = weights(new Watches(1), 15 * WHOLE).slice(7 * WHOLE + 20, 15 * WHOLE - 20);
    const changes = all.filter((weight, n) => n > 0 && weight !== all[n - 1]).length;
    // 16 slots of some 128 bursts; neighbours may touch
    expect(changes).toBeGreaterThan(16);
    expect(changes).toBeLessThanOrEqual(32);
    const starts = all.flatMap((weight, n) => (weight > 0 && all[n - 1] === 0 ? [Math.round(n / 128) % 8] : []));
    expect(new Set(starts).size).toBeGreaterThan(3);
  });

  it('watch the first bursts of each path whenever they come', () => {
    const watches = new Watches(1);
    const shares = weights(watches, 15 * WHOLE);
    const off = shares.lastIndexOf(0);
    const now = START_PS + off * STEP_PS;
    expect(watches.weightOf(OF_EACH_PATH - 1, now)).toBe(1);
    expect(watches.weightOf(OF_EACH_PATH, now)).toBe(0);
  });

  it('have slots of their own in each replication', () => {
    const [one, other] = [1, 2].map((replication) => weights(new Watches(replication), 15 * WHOLE));
    expect(one).not.toEqual(other);
    expect(one!.slice(0, WHOLE)).toEqual(other!.slice(0, WHOLE));
  });
});
