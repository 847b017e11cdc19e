import { describe, expect, it } from 'vitest';
import { parseAxis } from '../../src/scenario/axis.js';
import { gridOf, sampleOf } from '../../src/study/points.js';

const axes = ['a=1..1000', 'b=x,y', 'c=1..64 times 2', 'd=0.1..0.2'].map(parseAxis);

describe('points', () => {
  it('of a grid are all combinations, the last key first', () => {
    expect(gridOf(['a=1,2', 'b=x,y'].map(parseAxis))).toEqual([
      ['1', 'x'],
      ['1', 'y'],
      ['2', 'x'],
      ['2', 'y'],
    ]);
    expect(() => gridOf(['a=1..200 by 1', 'b=1..200 by 1'].map(parseAxis))).toThrow('40000 points');
  });

  it('of a sample have each part of each key once', () => {
    const points = sampleOf(axes, 20, 'seed');
    const parts = points.map(([a]) => Math.floor(((Number(a) - 1) / 999) * 20 - 1e-9));
    // rounding to whole numbers may move a point over the edge of its part, by no more than one
    expect(new Set(parts).size).toBeGreaterThanOrEqual(18);
    expect(points.filter(([, b]) => b === 'x')).toHaveLength(10);
    const logs = points.map(([, , c]) => Math.log2(Number(c)));
    expect(logs.filter((log) => log < 3).length).toBeGreaterThanOrEqual(9);
    expect(logs.filter((log) => log < 3).length).toBeLessThanOrEqual(11);
    const shares = points.map(([, , , d]) => Math.floor((Number(d) - 0.1) * 200));
    expect(new Set(shares).size).toBe(20);
  });

  it('of a sample are drawn for each key by itself, from the seed', () => {
    expect(sampleOf(axes, 9, 'one')).toEqual(sampleOf(axes, 9, 'one'));
    expect(sampleOf(axes, 9, 'one')).not.toEqual(sampleOf(axes, 9, 'two'));
    expect(sampleOf(axes.slice(0, 1), 9, 'one').flat()).toEqual(sampleOf(axes, 9, 'one').map(([a]) => a));
  });
});
