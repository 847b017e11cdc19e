import { expect, test } from 'vitest';
import { commonDivisor, commonMultiple } from '../../src/engine/common-multiple.js';

test('the greatest common divisor', () => {
  expect(commonDivisor(12, 18)).toBe(6);
  expect(commonDivisor(7, 5)).toBe(1);
  expect(commonDivisor(0, 4)).toBe(4);
});

test('the least common multiple, none of none, and beyond a limit', () => {
  expect(commonMultiple([4, 6, 10], 1000)).toBe(60);
  expect(commonMultiple([5000, 1250], 10_000)).toBe(5000);
  expect(commonMultiple([], 10)).toBe(0);
  expect(commonMultiple([4, 6, 10], 59)).toBe(Infinity);
});
