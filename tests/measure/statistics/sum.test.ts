import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WholeSum, divideWhole } from '../../../src/measure/statistics/sum.js';

const wholes = fc.array(fc.integer({ min: 0, max: 2 ** 49 }), { maxLength: 60 });

describe('WholeSum', () => {
  it('counts on past 2^53, where a double stands still', () => {
    const sum = new WholeSum();
    sum.add(2 ** 53);
    for (let i = 0; i < 3; i++) sum.add(1);
    expect(sum.toBigInt()).toBe(2n ** 53n + 3n);
    expect(2 ** 53 + 1 + 1 + 1).toBe(2 ** 53);
  });

  it('is exact for sums and squares in any order of adding and merging', () => {
    fc.assert(
      fc.property(wholes, fc.nat(60), (values, cut) => {
        const [left, right] = [new WholeSum(), new WholeSum()];
        values.forEach((value, i) => (i < cut ? left : right).add(value));
        values.forEach((value, i) => (i < cut ? left : right).addSquare(value));
        right.merge(WholeSum.fromPlain(left.toPlain()));
        const expected = values.reduce((sum, value) => sum + BigInt(value) + BigInt(value) ** 2n, 0n);
        expect(right.toBigInt()).toBe(expected);
        expect(right.toNumber()).toBe(Number(expected));
      }),
      { seed: 11, numRuns: 300 },
    );
  });

  it('squares the largest values exactly', () => {
    const sum = new WholeSum();
    sum.addSquare(2 ** 52 - 1);
    expect(sum.toBigInt()).toBe((2n ** 52n - 1n) ** 2n);
  });
});

describe('divideWhole', () => {
  it('keeps the fraction of numbers far past 2^53', () => {
    expect(divideWhole(10n ** 30n + 5n, 10n ** 30n)).toBe(1);
    expect(divideWhole(7n, 2n)).toBe(3.5);
    expect(divideWhole(3n * 10n ** 20n + 1n, 3n)).toBe(1e20);
  });
});
