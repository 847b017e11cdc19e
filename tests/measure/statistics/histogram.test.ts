import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Histogram, mergeAll } from '../../../src/measure/statistics/histogram.js';
import { TooManyValuesError } from '../../../src/measure/statistics/kept-values.js';

/** Latencies of every size, small ones and ties included. */
const latency = fc.oneof(
  fc.integer({ min: 0, max: 200 }),
  fc.integer({ min: 0, max: 1e7 }),
  fc.integer({ min: 0, max: 2 ** 45 }),
);
const latencies = fc.array(latency, { minLength: 1, maxLength: 200 });

function filled(values: readonly number[], made = new Histogram('test')): Histogram {
  for (const value of values) made.record(value);
  return made;
}

const ascending = (values: readonly number[]): number[] => values.toSorted((a, b) => a - b);

describe('Histogram', () => {
  it('keeps count, zeros, extremes, sum and deviation exactly', () => {
    // 2, 4, 4, 4, 5, 5, 7, 9: mean 5, squared deviations 9+1+1+1+0+0+4+16 = 32, over 7
    const made = filled([2, 4, 4, 4, 5, 5, 7, 9]);
    expect([made.count, made.zeros, made.minPs, made.maxPs, made.total]).toEqual([8, 0, 2, 9, 40n]);
    expect(made.meanPs).toBe(5);
    expect(made.stdevPs).toBeCloseTo(Math.sqrt(32 / 7), 14);
  });

  it('finds the deviation of large values that differ by little', () => {
    // 10^15 + {4, 7, 13, 16}: deviations -6, -3, 3, 6, squares 90, over 3 is 30; a plain sum of squares loses all of it
    const made = filled([4, 7, 13, 16].map((x) => 1e15 + x));
    expect(made.meanPs).toBe(1e15 + 10);
    expect(made.stdevPs).toBe(Math.sqrt(30));
  });

  it('says null when empty, and for the deviation of one value', () => {
    const made = new Histogram('empty');
    expect([made.minPs, made.maxPs, made.meanPs, made.stdevPs, made.quantile(0.5)]).toEqual([
      null,
      null,
      null,
      null,
      null,
    ]);
    expect(filled([7]).stdevPs).toBeNull();
  });

  it('reads every quantile within 0.8 % of the sample quantile and within the extremes', () => {
    fc.assert(
      fc.property(latencies, fc.double({ min: 0.0001, max: 0.9999, noNaN: true }), (values, p) => {
        const exact = ascending(values)[Math.max(1, Math.ceil(p * values.length - 1e-9)) - 1]!;
        const read = filled(values).quantile(p)!;
        expect(Math.abs(read - exact)).toBeLessThanOrEqual(exact / 128);
        expect(read).toBeGreaterThanOrEqual(Math.min(...values));
        expect(read).toBeLessThanOrEqual(Math.max(...values));
      }),
      { seed: 21, numRuns: 500 },
    );
  });

  it('reads whole picoseconds below 128 exactly', () => {
    for (const value of [0, 1, 63, 64, 65, 127]) expect(filled([0, value, 1e6]).quantile(0.5)).toBe(value);
  });

  it('takes the smallest bin that reaches the rank', () => {
    // of 100, 200, 300, 400: rank of p50 is 2; 200 lies in [200, 202), read as 201
    const made = filled([400, 100, 300, 200]);
    expect([made.quantile(0.5), made.quantile(0.51)]).toEqual([201, 302]);
  });

  it('merging equals recording everything in one, to the last bit', () => {
    fc.assert(
      fc.property(latencies, latencies, fc.boolean(), (a, b, exact) => {
        const make = (): Histogram => {
          const made = exact ? Histogram.exact('test') : new Histogram('test');
          made.watch(5_000);
          return made;
        };
        const merged = mergeAll('test', [filled(a, make()), filled(b, make())]);
        expect(merged.toPlain()).toEqual(filled([...a, ...b], make()).toPlain());
      }),
      { seed: 22, numRuns: 200 },
    );
  });

  it('survives the way through plain data, which holds used bins only', () => {
    fc.assert(
      fc.property(latencies, (values) => {
        const made = filled(values);
        const plain = structuredClone(made.toPlain());
        expect(Histogram.fromPlain(plain).toPlain()).toEqual(made.toPlain());
        expect(plain.bins.length).toBeLessThanOrEqual(values.length);
        expect(plain.counts.every((count) => count > 0)).toBe(true);
      }),
      { seed: 23 },
    );
  });

  it('counts a watched limit exactly, where bins cannot', () => {
    // 1,000,000 and 1,000,001 ps share a bin (its width is 8,192)
    const made = new Histogram('camera');
    made.watch(1_000_000);
    filled([999_999, 1_000_000, 1_000_001], made);
    expect(made.countAtMost(1_000_000)).toBe(2);
    expect(made.quantile(0.1)).toBe(made.quantile(0.9));
    expect(Histogram.fromPlain(made.toPlain()).countAtMost(1_000_000)).toBe(2);
  });

  it('counts other limits by bins read at their middle', () => {
    const made = filled([0, 0, 10, 200, 201, 300]);
    expect([made.countAtMost(0), made.countAtMost(10), made.countAtMost(200), made.countAtMost(201)]).toEqual([
      2, 3, 3, 5,
    ]);
  });

  it('keeps its zeros apart, as the bin from 0 to 1 ps', () => {
    const made = filled([0, 0, 3]);
    expect(made.zeros).toBe(2);
    expect(made.bins()).toEqual([
      { lowPs: 0, highPs: 1, valuePs: 0, count: 2 },
      { lowPs: 3, highPs: 4, valuePs: 3, count: 1 },
    ]);
  });

  it('gives exact quantiles and counts when it keeps every value', () => {
    fc.assert(
      fc.property(latencies, latency, (values, limit) => {
        const made = filled(values, Histogram.exact('test'));
        expect(made.quantile(0.5)).toBe(ascending(values)[Math.ceil(values.length / 2) - 1]);
        expect(made.countAtMost(limit)).toBe(values.filter((value) => value <= limit).length);
      }),
      { seed: 24 },
    );
  });

  it('grows past its first allocation and refuses, by name, what exceeds its cap', () => {
    const made = Histogram.exact('camera write, burst', 3_000);
    for (let i = 0; i < 3_000; i++) made.record(i);
    expect(made.quantile(1)).toBe(2_999);
    expect(() => made.record(1)).toThrow(TooManyValuesError);
    expect(() => made.record(1)).toThrow(/camera write, burst.*3000/);
  });

  it('refuses values that are no latency', () => {
    for (const value of [-1, NaN, Infinity, 2 ** 52]) expect(() => filled([value])).toThrow(/histogram test/);
  });

  it('does not merge what is not alike', () => {
    const watched = new Histogram('watched');
    watched.watch(5);
    expect(() => filled([1]).merge(watched)).toThrow(/watched/);
    expect(() => filled([1]).merge(Histogram.exact('exact'))).toThrow(/exact/);
    expect(() => filled([1]).watch(5)).toThrow(/from the start/);
  });
});
