import { expect, test } from 'vitest';
import { EntryAges } from '../../../src/model/dram/entry-ages.js';

type Cut = readonly [op: 'read' | 'write', edge: number, input: number, master: number];

/** Places of the cuts, told one after the other, in the order of their ages. */
function order(...cuts: Cut[]): number[] {
  const ages = new EntryAges();
  const told = cuts.map(([op, edge, input, master]) => {
    const access = { direction: op === 'write' ? 1 : 0, master, age: 0 };
    ages.stamp(access, edge, input);
    return access.age;
  });
  expect(new Set(told).size).toBe(told.length);
  return [...told.keys()].toSorted((a, b) => told[a]! - told[b]!);
}

test('what is cut in an earlier cycle is older', () => {
  expect(order(['read', 1, 5, 5], ['write', 2, 0, 0], ['read', 3, 1, 1], ['read', 4, 0, 0])).toEqual([0, 1, 2, 3]);
});

test.each<[string, Cut, Cut, first: number]>([
  ['the lower input', ['read', 7, 2, 0], ['write', 7, 1, 9], 1],
  ['the lower input', ['write', 7, 2, 0], ['read', 7, 1, 9], 1],
  ['the lower input, if it is told first', ['write', 7, 1, 9], ['read', 7, 2, 0], 0],
  ['the lower input, if it is told first', ['read', 7, 1, 9], ['write', 7, 2, 0], 0],
  ['of one input the lower master', ['read', 7, 1, 3], ['write', 7, 1, 2], 1],
  ['of one input the lower master', ['write', 7, 1, 3], ['read', 7, 1, 2], 1],
  ['of one master the read', ['write', 7, 1, 2], ['read', 7, 1, 2], 1],
  ['of one master the read', ['read', 7, 1, 2], ['write', 7, 1, 2], 0],
])('of two that are cut in one cycle, %s is older', (_, one, other, first) => {
  expect(order(['read', 3, 0, 0], ['write', 4, 0, 0], one, other, ['write', 8, 0, 0])).toEqual([
    0,
    1,
    first === 0 ? 2 : 3,
    first === 0 ? 3 : 2,
    4,
  ]);
});

test('the first cycle is no cycle of the other direction', () => {
  expect(order(['write', 0, 3, 3], ['read', 1, 0, 0])).toEqual([0, 1]);
});
