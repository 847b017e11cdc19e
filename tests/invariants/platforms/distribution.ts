import fc from 'fast-check';
import type { Tree } from './tree.js';

/** A distribution of a quantity as it is written: fixed, or one of the other kinds. */
export function distributionOf(
  value: fc.Arbitrary<number>,
  quantity: (value: number) => string | number,
): fc.Arbitrary<string | number | Tree> {
  const mean = value.map(quantity);
  return fc.oneof(
    { arbitrary: mean, weight: 4 },
    fc.tuple(value, value).map(([a, b]) => ({ uniform: [quantity(Math.min(a, b)), quantity(Math.max(a, b))] })),
    mean.map((most) => ({ exponential: { mean: most } })),
    fc.tuple(value, fc.integer({ min: 1, max: 4 })).map(([most, parts]) => {
      const unit = Math.max(1, Math.floor(most / parts));
      return { geometric: { mean: quantity(Math.max(most, unit)), unit: quantity(unit) } };
    }),
    fc.tuple(mean, fc.constantFrom(0.5, 1.5)).map(([most, spread]) => ({ lognormal: { mean: most, spread } })),
    fc
      .array(fc.tuple(mean, fc.integer({ min: 1, max: 5 })), { minLength: 1, maxLength: 3 })
      .map((rows) => ({ table: rows })),
  );
}
