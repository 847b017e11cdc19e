import { expect, it } from 'vitest';
import { compared } from './compared.js';

it('gives the mean ratio of launches with an interval, whatever slowed down both sides of one', () => {
  // ratios 1.1 and 1.1 × 1.21 by turns: logarithms a ± b with a = ln 1.21 and b = ln 1.1, so the mean ratio is 1.21
  const costs = [10, 20, 30, 40].map((cost, launch) => [cost, cost * 1.1 * (launch % 2 === 0 ? 1 : 1.21)]);
  const { ratio, low, high } = compared('other', costs, 1);
  expect(ratio).toBeCloseTo(1.21, 12);
  // s = b √(4/3), of four launches; t(0.975, 3) = 3.182 (any table of Student's t)
  const half = 3.182446 * Math.log(1.1) * Math.sqrt(4 / 3 / 4);
  expect(Math.log(high / ratio)).toBeCloseTo(half, 6);
  expect(Math.log(ratio / low)).toBeCloseTo(half, 6);
});
