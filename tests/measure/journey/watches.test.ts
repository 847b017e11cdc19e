import { describe, expect, it } from 'vitest';
import { Watches } from '../../../src/measure/journey/watches.js';

/** Bursts that are all charged, of whatever path; and of each path. */
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
    const weight = watches.weightOf(n, LATER, now);
    watches.offer(now);
    return weight;
  });
}

describe('Watches', () => {
  it('charge all of the first bursts, then a share of the time that halves after 1, 3, 7 ... times as long', () => {
    const all = weights(new Watches(8, 1), 15 * WHOLE);
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
      const charged = span.filter((weight) => weight > 0).length;
      expect(Math.abs(charged - span.length / share)).toBeLessThan(40);
    }
  });

  it('watch whole slots of time, one of each group, and not always the same', () => {
    const all = weights(new Watches(8, 1), 15 * WHOLE).slice(7 * WHOLE + 20, 15 * WHOLE - 20);
    const changes = all.filter((weight, n) => n > 0 && weight !== all[n - 1]).length;
    // 16 slots of some 128 bursts; neighbours may touch
    expect(changes).toBeGreaterThan(16);
    expect(changes).toBeLessThanOrEqual(32);
    const starts = all.flatMap((weight, n) => (weight > 0 && all[n - 1] === 0 ? [Math.round(n / 128) % 8] : []));
    expect(new Set(starts).size).toBeGreaterThan(3);
  });

  it('charge the first bursts of each path whenever they come, and every k-th alone where more than 32 masters contend', () => {
    const watches = new Watches(8, 1);
    const shares = weights(watches, 15 * WHOLE);
    const off = shares.lastIndexOf(0);
    const now = START_PS + off * STEP_PS;
    expect(watches.weightOf(7, OF_EACH_PATH - 1, now)).toBe(1);
    expect(watches.weightOf(7, OF_EACH_PATH, now)).toBe(0);
    const many = new Watches(65, 1);
    expect([0, 1, 2, 3, 4].map((number) => many.weightOf(number, 0, START_PS))).toEqual([1, 0, 0, 1, 0]);
  });

  it('have slots of their own in each replication', () => {
    const [one, other] = [1, 2].map((replication) => weights(new Watches(8, replication), 15 * WHOLE));
    expect(one).not.toEqual(other);
    expect(one!.slice(0, WHOLE)).toEqual(other!.slice(0, WHOLE));
  });
});
