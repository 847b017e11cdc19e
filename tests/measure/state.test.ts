import { describe, expect, it } from 'vitest';
import { type StateEvidence, isOverloaded, pathState } from '../../src/measure/state.js';

const evidence = (more: Partial<StateEvidence> = {}): StateEvidence => ({
  count: 100,
  unfinished: 0,
  carriedBytes: 900,
  offeredBytes: 1000,
  backlogQuarters: [0, 10, 20, 30],
  ...more,
});

/** Replications whose last quarter is above the second by these bytes. */
const growing = (growth: readonly number[], more: Partial<StateEvidence> = {}): StateEvidence[] =>
  growth.map((bytes) => evidence({ backlogQuarters: [0, 50, 50, 50 + bytes], ...more }));

describe('isOverloaded', () => {
  it('tests the growth of the backlog at 1 %, one-sided and paired', () => {
    // growth 1 2 3 4 5: mean 3, s = √2.5, t = 3/(√2.5/√5) = 4.243; t(4, .99) = 3.747
    expect(isOverloaded('open', false, growing([1, 2, 3, 4, 5]))).toBe(true);
    // 0 2 3 4 6: mean 3, s = √5, t = 3
    expect(isOverloaded('open', false, growing([0, 2, 3, 4, 6]))).toBe(false);
    expect(isOverloaded('open', false, growing([-1, -2, -3, -4, -5]))).toBe(false);
  });

  it('also needs less carried than offered', () => {
    expect(isOverloaded('open', false, growing([1, 2, 3, 4, 5], { carriedBytes: 1000 }))).toBe(false);
  });

  it('holds for every open source beyond an element’s capacity', () => {
    expect(isOverloaded('open', true, [evidence({ carriedBytes: 1000 })])).toBe(true);
  });

  it('never holds for closed sources', () => {
    expect(isOverloaded('greedy', true, growing([1, 2, 3, 4, 5]))).toBe(false);
    expect(isOverloaded('dependent', false, growing([1, 2, 3, 4, 5]))).toBe(false);
  });

  it('is not tested on a single replication, and is certain when all grow alike', () => {
    expect(isOverloaded('open', false, growing([1000]))).toBe(false);
    expect(isOverloaded('open', false, growing([7, 7, 7]))).toBe(true);
    expect(isOverloaded('open', false, growing([0, 0, 0]))).toBe(false);
  });
});

describe('pathState', () => {
  it('names starvation first, then overload, then too few samples', () => {
    expect(pathState([evidence({ count: 0, unfinished: 3 })], true)).toBe('starved');
    expect(pathState([evidence({ count: 0, offeredBytes: null, unfinished: 1 })], false)).toBe('starved');
    expect(pathState([evidence({ count: 5 })], true)).toBe('overloaded');
    expect(pathState([evidence({ count: 10 }), evidence({ count: 9 })], false)).toBe('few_samples');
    expect(pathState([evidence({ count: 10 }), evidence({ count: 10 })], false)).toBe('steady');
  });

  it('does not call a path starved on which nothing was wanted', () => {
    expect(pathState([evidence({ count: 0, offeredBytes: 0 })], false)).toBe('few_samples');
  });
});
