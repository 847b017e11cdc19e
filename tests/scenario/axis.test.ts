import { describe, expect, it } from 'vitest';
import { between, columnOf, parseAxis, type RangeAxis, valuesOf } from '../../src/scenario/axis.js';

const values = (text: string): string[] => valuesOf(parseAxis(text));

describe('the values of a key', () => {
  it.each([
    ['buffers.lines.size=64 KiB, 1 MiB', ['64 KiB', '1 MiB']],
    ['masters.a.outstanding=2..8 by 2', ['2', '4', '6', '8']],
    ['masters.a.outstanding=1..16 times 2', ['1', '2', '4', '8', '16']],
    ['b.size=256 KiB..1 MiB', ['256 KiB', '448 KiB', '640 KiB', '832 KiB', '1024 KiB']],
    ['b.size=256 KiB..1 MiB times 2', ['256 KiB', '512 KiB', '1024 KiB']],
    ['m.issue.every=0.5 us..1 us by 250 ns', ['0.5 us', '0.75 us', '1 us']],
    ['m.outstanding=1..3', ['1', '2', '3']],
    ['m.issue={process: poisson, rate: 1 MB/s},greedy', ['{process: poisson, rate: 1 MB/s}', 'greedy']],
    ['b.cached=yes,no', ['yes', 'no']],
  ])('%s', (text, expected) => {
    expect(values(text)).toEqual(expected);
  });

  it.each([
    ['size', 'does not say which values'],
    ['size=', 'does not say which values'],
    ['size=a..b', 'does not say which values'],
    ['size=4..2', 'is no range'],
    ['size=4..4', 'is no range'],
    ['size=1..4 by 0', 'is no range'],
    ['size=1..4 times 1', 'is no range'],
    ['size=0..4 times 2', 'is no range'],
    ['size=1 KiB..4 ns', 'mixes units'],
    ['size=1 KiB..4 KiB/3', 'does not say which values'],
  ])('%s is told', (text, words) => {
    expect(() => parseAxis(text)).toThrow(words);
  });

  it('halve to whole numbers of the unit until none lies between', () => {
    const steps = parseAxis('b.size=4 KiB..16 KiB') as RangeAxis;
    expect([between(steps, 4, 16), between(steps, 4, 7), between(steps, 4, 5)]).toEqual([10, 6, null]);
    const factors = parseAxis('b.size=4 KiB..16 KiB times 2') as RangeAxis;
    expect(between(factors, 4, 16)).toBe(8);
  });
});

describe('a column of them', () => {
  it('has quantities as numbers of one unit, which it names', () => {
    expect(columnOf('size', ['64 KiB', '1 MB'])).toEqual({ name: 'size_bytes', cells: [65_536, 1_000_000] });
    expect(columnOf('every', ['1 us', '250 ns'])).toEqual({ name: 'every_ns', cells: [1000, 250] });
    expect(columnOf('rate', ['8 Mbit/s'])).toEqual({ name: 'rate_mb_per_s', cells: [1] });
    expect(columnOf('outstanding', ['2', '16'])).toEqual({ name: 'outstanding', cells: [2, 16] });
    expect(columnOf('outstanding', ['2', 'unlimited'])).toEqual({ name: 'outstanding', cells: ['2', 'unlimited'] });
  });
});
