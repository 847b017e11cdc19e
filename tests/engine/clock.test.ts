import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { Clock, crossing } from '../../src/engine/clock.js';

const ddr3_1866 = () => new Clock('dram', 7500, 7); // 1071.43 ps
const central = () => new Clock('central', 500_000, 133); // 266 MHz

describe('Clock', () => {
  it('puts edge q·d + r at q·n + round(r·n/d)', () => {
    const clock = ddr3_1866();
    // 7500/7 = 1071.428…: 1071, 2143, 3214, 4286, 5357, 6429, 7500
    expect([0, 1, 2, 3, 4, 5, 6, 7, 8].map((k) => clock.at(k))).toEqual([
      0, 1071, 2143, 3214, 4286, 5357, 6429, 7500, 8571,
    ]);
  });

  it('accumulates no rounding: edge 7 million of a 7500/7 ps clock is exact', () => {
    expect(ddr3_1866().at(7_000_000)).toBe(7_500_000_000);
  });

  it('finds the first edge at or after any time', () => {
    for (const clock of [ddr3_1866(), central(), new Clock('whole', 2500, 1)]) {
      fc.assert(
        fc.property(fc.integer({ min: 0, max: 2 ** 45 }), (time) => {
          const k = clock.indexFrom(time);
          expect(clock.at(k)).toBeGreaterThanOrEqual(time);
          if (k > 0) expect(clock.at(k - 1)).toBeLessThan(time);
        }),
        { seed: 1, numRuns: 2000 },
      );
    }
  });

  it('is exact for edges as far out as doubles reach (whole-number arithmetic without limit beside it)', () => {
    for (const [n, d] of [
      [7500, 7],
      [500_000, 133],
      [3, 2],
      [10_000, 3],
    ] as const) {
      const clock = new Clock('c', n, d);
      const exact = (k: number): number => Number((2n * BigInt(k) * BigInt(n) + BigInt(d)) / (2n * BigInt(d)));
      for (let power = 0; power < 2 ** 52 / n; power = power * 2 + 1) {
        for (const k of [power, power + 1, power + 2]) expect(clock.at(k)).toBe(exact(k));
      }
    }
  });

  it('finds every edge, time by time', () => {
    for (const [n, d] of [
      [7, 3],
      [3, 2],
      [1, 1],
      [8, 5],
      [101, 100],
    ] as const) {
      const clock = new Clock('c', n, d);
      let edge = 0;
      for (let time = 0; time <= 5 * n; time++) {
        while (Math.floor((2 * edge * n + d) / (2 * d)) < time) edge++;
        expect(clock.indexFrom(time)).toBe(edge);
      }
    }
  });

  it('gives the first edge from a time on, and the one so many cycles later', () => {
    // edges at 0, 1071, 2143, 3214, 4286
    expect(ddr3_1866().edgeFrom(1072)).toBe(2143);
    expect(ddr3_1866().edgeFrom(2143)).toBe(2143);
    expect(ddr3_1866().after(1072, 2)).toBe(4286);
    expect(new Clock('whole', 2500, 1).after(2501, 3)).toBe(12_500);
  });

  it('refuses a period below one picosecond, or one that needs more than 53 bits', () => {
    expect(() => new Clock('fast', 1, 2)).toThrow(/at least 1 ps/);
    expect(() => new Clock('odd', 2 ** 40 + 1, 2 ** 20 + 1)).toThrow(/53 bits/);
    for (const [above, below] of [
      [2.5, 1],
      [5, 1.5],
      [2 ** 53, 1],
      [5, 0],
      [5, -1],
    ] as const) {
      expect(() => new Clock('unreal', above, below)).toThrow(/at least 1 ps, got/);
    }
    expect(new Clock('fastest', 1, 1).at(7)).toBe(7);
  });

  it('pays the synchroniser only between two named clocks', () => {
    const none = new Clock('none', 1, 1);
    expect(crossing(central(), ddr3_1866(), 2)).toBe(2);
    expect(crossing(central(), central(), 2)).toBe(0);
    expect(crossing(none, central(), 2)).toBe(0);
    expect(crossing(central(), none, 2)).toBe(0);
  });
});
