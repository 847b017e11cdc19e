import fc from 'fast-check';
import { expect, it } from 'vitest';
import { BLOCKS, CELLS, VALUE_LIMIT, binLow, binMiddle, binWidth } from '../../../src/measure/statistics/bins.js';

it('bins join without a gap up to the largest value', () => {
  for (let bin = 0; bin < BLOCKS * CELLS - 1; bin++) expect(binLow(bin) + binWidth(bin)).toBe(binLow(bin + 1));
  const last = BLOCKS * CELLS - 1;
  expect(binLow(last) + binWidth(last)).toBe(VALUE_LIMIT);
});

it('from 64 ps on there are 64 bins to an octave', () => {
  fc.assert(
    fc.property(fc.integer({ min: CELLS, max: (BLOCKS - 1) * CELLS - 1 }), (bin) => {
      expect(binLow(bin + CELLS)).toBe(2 * binLow(bin));
    }),
    { seed: 12 },
  );
});

it('a middle is within 1/128 of every value of its bin', () => {
  // bin 64·2 + 3: block 2 holds 128 to 255 ps in bins of 2, so [134, 136), read as 135
  expect([binLow(131), binWidth(131), binMiddle(131)]).toEqual([134, 2, 135]);
  for (let bin = 1; bin < BLOCKS * CELLS; bin++) {
    const low = binLow(bin);
    const last = low + binWidth(bin) - 1;
    expect((binMiddle(bin) - low) / low).toBeLessThanOrEqual(1 / 128);
    expect((last - binMiddle(bin)) / last).toBeLessThanOrEqual(1 / 128);
  }
});
