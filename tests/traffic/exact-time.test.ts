import fc from 'fast-check';
import { expect, it } from 'vitest';
import { ExactTime } from '../../src/traffic/exact-time.js';

it('the time of a count is rounded once, to the nearest whole picosecond, for any whole rate', () => {
  const property = fc.property(
    fc.integer({ min: 1, max: 100_000_000_000 }),
    fc.integer({ min: 0, max: 4_000_000_000 }),
    (rate, bytes) => {
      const found = ExactTime.perByte(rate).of(bytes);
      fc.pre(Number.isSafeInteger(found));
      // exact: |2 · (found · rate − bytes · 1e12)| ≤ rate, but for the last bits of the one division of the rest
      const twice = 2n * (BigInt(found) * BigInt(rate) - BigInt(bytes) * 1_000_000_000_000n);
      const slack = BigInt(Math.ceil(rate * 1e-3));
      expect((twice < 0n ? -twice : twice) <= BigInt(rate) + slack).toBe(true);
    },
  );
  fc.assert(property, { seed: 11, numRuns: 500 });
});

it('does not drift at a rate whose period is no whole number of picoseconds', () => {
  // 1/3 s a byte has no finite decimal: adding 333,333,333,333 ps thrice a second would be late by one ps every second
  expect(ExactTime.perByte(3).of(3)).toBe(1e12);
  expect(ExactTime.perByte(3).of(3000)).toBe(1e15);
  expect(ExactTime.perByte(3).of(3001)).toBe(1e15 + 333_333_333_333);
  expect(new ExactTime(333.3, 1).of(10)).toBe(3333);
});

it('refuses a pace that is not above 0', () => {
  expect(() => ExactTime.perByte(0)).toThrow('pace: must be above 0');
  expect(() => new ExactTime(Number.NaN, 1)).toThrow('pace: must be above 0');
});
