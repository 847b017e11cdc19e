import { expect, it } from 'vitest';
import { runningSums, weightedIndex } from '../../src/traffic/cumulative.js';

it('weightedIndex answers each index over its share of [0, 1), and never one of weight 0', () => {
  const weights = [0, 2, 0, 1, 1, 0];
  const sums = runningSums(weights.length, (index) => weights[index]!);
  expect([...sums]).toEqual([0, 2, 2, 3, 4, 4]);
  const found = [0, 0.25, 0.499, 0.5, 0.749, 0.75, 1 - 2 ** -53].map((u) => weightedIndex(sums, u));
  expect(found).toEqual([1, 1, 1, 3, 3, 4, 4]);
});
