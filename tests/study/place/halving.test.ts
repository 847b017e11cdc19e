import { expect, it } from 'vitest';
import { costOf, halvingRounds, ranked, staying } from '../../../src/study/place/halving.js';

it('rounds halve down to the target, each at about the same cost', () => {
  expect(halvingRounds(64, 8, 960)).toEqual([
    { contestants: 64, replications: 5, keep: 32 },
    { contestants: 32, replications: 10, keep: 16 },
    { contestants: 16, replications: 20, keep: 8 },
  ]);
  expect(costOf(halvingRounds(64, 8, 960))).toBe(960);
});

it('odd numbers keep the larger half, and none goes below the target', () => {
  expect(halvingRounds(19, 8, 0).map(({ keep }) => keep)).toEqual([10, 8]);
  expect(halvingRounds(8, 8, 100)).toEqual([]);
});

it('however little may be spent, the first round has three replications and the others one', () => {
  expect(halvingRounds(20, 8, 0).map(({ replications }) => replications)).toEqual([3, 1]);
});

it('who keeps the budgets comes first, then by the goal; without a value last; equal ones in their order', () => {
  const standings = {
    a: { excess: 0.5, cost: 1 },
    b: { excess: 0, cost: Infinity },
    c: { excess: 0, cost: 3 },
    d: { excess: 0, cost: 2 },
    e: { excess: 0.1, cost: 9 },
    f: { excess: 0, cost: 3 },
    g: { excess: 0, cost: Infinity },
  };
  const names = Object.keys(standings) as (keyof typeof standings)[];
  expect(ranked(names, (name) => standings[name]).join('')).toBe('dcfbgea');
  expect(staying(names, (name) => standings[name], 3).join('')).toBe('cdf');
});
