import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { studentCdf, studentQuantile } from '../../../src/measure/statistics/student.js';

/** NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2: upper critical values; df, then p .95, .975, .99. */
const PUBLISHED: readonly (readonly [number, number, number, number])[] = [
  [1, 6.314, 12.706, 31.821],
  [2, 2.92, 4.303, 6.965],
  [4, 2.132, 2.776, 3.747],
  [9, 1.833, 2.262, 2.821],
  [19, 1.729, 2.093, 2.539],
  [30, 1.697, 2.042, 2.457],
  [100, 1.66, 1.984, 2.364],
];

describe('studentQuantile', () => {
  it('gives the published critical values to their three decimals', () => {
    for (const [df, p95, p975, p99] of PUBLISHED) {
      expect(Math.abs(studentQuantile(0.95, df) - p95)).toBeLessThanOrEqual(0.000501);
      expect(Math.abs(studentQuantile(0.975, df) - p975)).toBeLessThanOrEqual(0.000501);
      expect(Math.abs(studentQuantile(0.99, df) - p99)).toBeLessThanOrEqual(0.000501);
    }
  });

  it('equals the closed forms for one and two degrees of freedom', () => {
    for (const p of [0.6, 0.9, 0.975, 0.999]) {
      expect(studentQuantile(p, 1) / Math.tan(Math.PI * (p - 0.5))).toBeCloseTo(1, 9);
      expect(studentQuantile(p, 2) / ((2 * p - 1) / Math.sqrt(2 * p * (1 - p)))).toBeCloseTo(1, 9);
    }
  });

  it('tends to the normal quantile, 1.959964 at .975 and 2.326348 at .99', () => {
    expect(studentQuantile(0.975, 1e7)).toBeCloseTo(1.959964, 5);
    expect(studentQuantile(0.99, 1e7)).toBeCloseTo(2.326348, 5);
  });

  it('is the inverse of the distribution, and symmetric', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 0.99, noNaN: true }), fc.integer({ min: 1, max: 200 }), (p, df) => {
        const t = studentQuantile(p, df);
        expect(studentCdf(t, df)).toBeCloseTo(p, 9);
        expect(studentQuantile(1 - p, df)).toBeCloseTo(-t, 6);
      }),
      { seed: 31, numRuns: 200 },
    );
  });

  it('refuses what has no quantile', () => {
    expect(() => studentQuantile(1, 5)).toThrow(RangeError);
    expect(() => studentQuantile(0.5, 0)).toThrow(RangeError);
  });
});
