import { xor4096 } from 'seedrandom';
import { describe, expect, it } from 'vitest';
import { commonWarmupPs, hyperperiodPs, mser5, settledAtPs } from '../../../src/measure/statistics/warmup.js';

const repeat = (values: readonly number[], count: number): number[] =>
  Array.from({ length: count }, () => values).flat();

describe('mser5', () => {
  it('cuts exactly the batches of a plain transient', () => {
    // three batches of 100, then 27 of which the means are 1 and 2 by turns: any cut short of three keeps a 100, any
    // later one has a larger (variance / number left)
    const series = [...repeat([100], 15), ...Array.from({ length: 27 }, (_, b) => repeat([1 + (b % 2)], 5)).flat()];
    expect(mser5(series)).toEqual({ settled: true, drop: 15 });
  });

  it('equals the definition on noise, tried cut by cut', () => {
    const random = xor4096('mser');
    for (let trial = 0; trial < 20; trial++) {
      const series = Array.from({ length: 203 }, (_, i) => 50 * Math.exp(-i / 15) + random() * 10);
      const z = Array.from({ length: 40 }, (_, b) => series.slice(5 * b, 5 * b + 5).reduce((a, x) => a + x) / 5);
      const errors = z.slice(0, 36).map((_, cut) => {
        const left = z.slice(cut);
        const mean = left.reduce((a, x) => a + x) / left.length;
        return left.reduce((a, x) => a + (x - mean) ** 2, 0) / left.length ** 2;
      });
      const best = errors.indexOf(Math.min(...errors));
      expect(mser5(series)).toEqual(best > 20 ? { settled: false } : { settled: true, drop: best * 5 });
    }
  });

  it('drops nothing from a series that is settled from the start', () => {
    expect(mser5(repeat([4], 100))).toEqual({ settled: true, drop: 0 });
  });

  it('is not settled when the best cut lies beyond half, or the series is short', () => {
    expect(mser5([...repeat([100], 60), ...repeat([1, 2, 3, 4, 5], 8)])).toEqual({ settled: false });
    expect(mser5(Array.from({ length: 200 }, (_, i) => i))).toEqual({ settled: false });
    expect(mser5(repeat([1], 49))).toEqual({ settled: false });
  });
});

describe('the common warm-up', () => {
  const need = { settledPs: [300, 700], atLeastPs: 0, hyperperiodPs: 0, pilotPs: 10_000 };

  it('is the latest of all paths, and never shorter than stated', () => {
    expect(commonWarmupPs(need)).toBe(700);
    expect(commonWarmupPs({ ...need, atLeastPs: 1_200 })).toBe(1_200);
  });

  it('is a whole number of hyperperiods', () => {
    expect(commonWarmupPs({ ...need, hyperperiodPs: 400 })).toBe(800);
    expect(commonWarmupPs({ ...need, hyperperiodPs: 350 })).toBe(700);
  });

  it('is not settled when one path is not, or it lies beyond half the pilot', () => {
    expect(commonWarmupPs({ ...need, settledPs: [300, null] })).toBeNull();
    expect(commonWarmupPs({ ...need, hyperperiodPs: 5_001 })).toBeNull();
    expect(commonWarmupPs({ ...need, hyperperiodPs: 5_000 })).toBe(5_000);
  });

  it('starts at the first observation that is kept', () => {
    const values = [...repeat([100], 15), ...Array.from({ length: 27 }, (_, b) => repeat([1 + (b % 2)], 5)).flat()];
    const timesPs = values.map((_, i) => 10 * i);
    expect(settledAtPs({ timesPs, values })).toBe(150);
    expect(settledAtPs({ timesPs, values: values.map(() => 1) })).toBe(0);
    expect(settledAtPs({ timesPs: [1], values: [1] })).toBeNull();
  });

  it('finds the hyperperiod as the least common multiple, unless it is too long', () => {
    expect(hyperperiodPs([4, 6, 10], 1000)).toBe(60);
    expect(hyperperiodPs([], 1000)).toBe(0);
    expect(hyperperiodPs([999, 1000], 1000)).toBe(0);
  });
});
