import { expect, it } from 'vitest';
import { rankOf } from '../../../src/measure/statistics/rank.js';

it('the rank is the smallest whole number that reaches p times the count', () => {
  expect(rankOf(0.5, 10)).toBe(5);
  expect(rankOf(0.5, 11)).toBe(6);
  expect(rankOf(0.99, 1000)).toBe(990);
  expect(rankOf(0.99, 1001)).toBe(991);
  expect(rankOf(0.9999, 100_000)).toBe(99_990);
  expect(rankOf(0.0001, 3)).toBe(1);
});

it('a product that misses a whole number by rounding alone does not gain a rank', () => {
  expect(0.07 * 100).toBeGreaterThan(7);
  expect(rankOf(0.07, 100)).toBe(7);
});
