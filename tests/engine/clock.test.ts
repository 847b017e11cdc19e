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

  it('refuses a period below one picosecond, or one that needs more than 53 bits', () => {
    expect(() => new Clock('fast', 1, 2)).toThrow(/at least 1 ps/);
    expect(() => new Clock('odd', 2 ** 40 + 1, 2 ** 20 + 1)).toThrow(/53 bits/);
  });

  it('pays the synchroniser only between two named clocks', () => {
    const none = new Clock('none', 1, 1);
    expect(crossing(central(), ddr3_1866(), 2)).toBe(2);
    expect(crossing(central(), central(), 2)).toBe(0);
    expect(crossing(none, central(), 2)).toBe(0);
  });
});
