import { xor4096 } from 'seedrandom';
import { describe, expect, it } from 'vitest';
import { type Clusters, lagOneCorrelation, makeClusters } from '../../../src/measure/statistics/clusters.js';
import { Histogram } from '../../../src/measure/statistics/histogram.js';
import { meanInterval, percentile, percentileInterval } from '../../../src/measure/statistics/intervals.js';
import { studentQuantile } from '../../../src/measure/statistics/student.js';

function part(values: readonly number[]): Histogram {
  const made = Histogram.exact('test');
  for (const value of values) made.record(value);
  return made;
}

function clustersOf(parts: readonly (readonly number[])[], more: Partial<Clusters> = {}): Clusters {
  return makeClusters({
    kind: 'replications',
    parts: parts.map(part),
    unfinished: parts.map(() => 0),
    unfinishedFromPs: Infinity,
    windowPs: 1_000_000,
    load: 0.5,
    ...more,
  });
}

/** `count` times `value`. */
const times = (count: number, value: number): number[] => Array.from({ length: count }, () => value);

/** The values 1 to n. */
const samples = (n: number): number[] => Array.from({ length: n }, (_, i) => i + 1);

/** So many of 1, of 2 and so on. */
const replication = (counts: readonly number[]): number[] => counts.flatMap((count, i) => times(count, i + 1));

/** n values from start on, mixed. */
const ramp = (n: number, start: number): number[] => Array.from({ length: n }, (_, i) => start + ((i * 37) % n));

/** Batches of one value each. */
const batches = (series: readonly number[], each: number): number[][] => series.map((level) => times(each, level));

describe('meanInterval', () => {
  it('is the t interval of a ratio of sums, worked by hand', () => {
    // sums 6, 20, 18 of 2, 4, 6 samples: m = 44/12 = 11/3; d = 6 - 22/3, 20 - 44/3, 18 - 22 = -4/3, 16/3, -4
    // squares 16/9 + 256/9 + 144/9 = 416/9, over 2, root: s_d = 4.80740; t(2, .975) = 4.302653; n̄ = 4
    // half = 4.302653 · 4.80740 / (√3 · 4) = 2.985562
    const { value } = meanInterval(clustersOf([[2, 4], [5, 5, 5, 5], times(6, 3)]));
    expect(value!.lowPs).toBeCloseTo(11 / 3 - 2.985562, 5);
    expect(value!.highPs).toBeCloseTo(11 / 3 + 2.985562, 5);
  });

  it('is the ordinary t interval when replications are of one size', () => {
    // means 10, 12, 14: s = 2, t(2, .975) = 4.302653, half = 4.302653 · 2/√3
    const { value } = meanInterval(
      clustersOf([
        [10, 10],
        [12, 12],
        [13, 15],
      ]),
    );
    expect(value!.highPs - 12).toBeCloseTo((4.302653 * 2) / Math.sqrt(3), 5);
  });

  it('is none where replications do not differ, whatever their number of samples', () => {
    expect(
      meanInterval(
        clustersOf([
          [3, 5],
          [3, 5, 3, 5],
        ]),
      ).note!.reason,
    ).toBe('deterministic');
    expect(meanInterval(clustersOf([times(3, 1e9 + 1), times(7, 1e9 + 1)])).note!.reason).toBe('deterministic');
  });

  it('is none from one replication or from nothing', () => {
    expect(meanInterval(clustersOf([[1, 2, 3]])).note!.reason).toBe('few_clusters');
    expect(meanInterval(clustersOf([[], []])).note!.reason).toBe('no_samples');
  });
});

describe('percentile', () => {
  it('is printed from ten samples beyond it on', () => {
    expect(percentile(clustersOf([samples(1000)]), 0.99).value).toBe(990);
    expect(percentile(clustersOf([samples(999)]), 0.99).note).toEqual({
      reason: 'few_beyond',
      have: 999,
      need: 1000,
      neededPs: Math.ceil((1_000_000 * 1000) / 999),
    });
    expect(percentile(clustersOf([samples(20)]), 0.5).value).toBe(10);
    expect(percentile(clustersOf([samples(19)]), 0.5).value).toBeNull();
  });

  it('asks for ten times the samples when a tenth is there', () => {
    expect(percentile(clustersOf([times(1000, 5)]), 0.999).note!.neededPs).toBe(10_000_000);
  });

  it('is empty when what had not come back could move it', () => {
    // 1,000 samples 1..1000, p90: rank 900 is 900; with one more of at least 5,000 the rank is 901
    const rising = Array.from({ length: 1000 }, (_, i) => i + 1);
    expect(percentile(clustersOf([rising], { unfinished: [1], unfinishedFromPs: 5000 }), 0.9).note!.reason).toBe(
      'unfinished',
    );
    // 600 × 10 and 400 × 20: p50 stays 10 with 100 more above (rank 550), not with 300 more (rank 650)
    const steps = [...times(600, 10), ...times(400, 20)];
    expect(percentile(clustersOf([steps], { unfinished: [100], unfinishedFromPs: 5000 }), 0.5).value).toBe(10);
    expect(percentile(clustersOf([steps], { unfinished: [300], unfinishedFromPs: 5000 }), 0.5).value).toBeNull();
    // the missing ones might be as quick as 5 ps
    expect(percentile(clustersOf([steps], { unfinished: [100], unfinishedFromPs: 5 }), 0.5).value).toBeNull();
  });
});

describe('percentileInterval', () => {
  it('inverts the band around p, worked by hand', () => {
    // Five replications of 100 samples with the values 1 to 5; how many of each (p50 wants 50 at or below):
    //   1: 30 20 20 20 10 | 2: 40 30 30 20 30 | 3: 20 30 30 40 30 | rest 4, 5
    // d at 1: -20 -30 -30 -30 -40, sum -150, s = √(200/4) = 7.0711, band t·√5·s = 2.776445·2.236068·7.0711 = 43.9  outside
    // d at 2:  20   0   0 -10 -10, sum    0                                                                         inside
    // d at 3:  40  30  30  30  20, sum  150, band 43.9                                                              outside
    // so x runs over [2, 3): its closure is 2 to 3
    const parts = [
      [30, 40, 20, 5, 5],
      [20, 30, 30, 10, 10],
      [20, 30, 30, 10, 10],
      [20, 20, 40, 10, 10],
      [10, 30, 30, 15, 15],
    ].map(replication);
    expect(percentileInterval(clustersOf(parts), 0.5)).toEqual({ value: { lowPs: 2, highPs: 3 }, note: null });
  });

  it('is the one value at which the distribution jumps across the whole band', () => {
    // 40 ± few below, all the rest 200: the median is 200 for certain
    const parts = [38, 39, 40, 41, 42].map((low) => [...times(low, 100), ...times(100 - low, 200)]);
    expect(percentileInterval(clustersOf(parts), 0.5).value).toEqual({ lowPs: 200, highPs: 200 });
  });

  it('is none where all replications have one distribution', () => {
    const parts = [100, 200, 100, 200, 100].map((n) => [...times(n, 10), ...times(n, 20)]);
    expect(percentileInterval(clustersOf(parts), 0.5).note!.reason).toBe('deterministic');
  });

  it('needs 100 samples beyond, from five replications', () => {
    const six = [0, 1, 2, 3, 4, 5].map((start) => ramp(1500, start));
    expect(percentileInterval(clustersOf(six), 0.99).note).toMatchObject({
      reason: 'few_beyond',
      have: 9000,
      need: 10_000,
    });
    const seven = [...six, ramp(1500, 6)];
    expect(percentileInterval(clustersOf(seven), 0.99).value).not.toBeNull();
    expect(percentileInterval(clustersOf([ramp(9000, 1), ramp(9000, 2)]), 0.99).note).toMatchObject({
      reason: 'few_clusters',
      have: 2,
      need: 5,
    });
  });

  it('contains the percentile and stays inside the extremes', () => {
    const random = xor4096('interval');
    for (let trial = 0; trial < 50; trial++) {
      const parts = Array.from({ length: 6 }, () => Array.from({ length: 400 }, () => Math.floor(random() * 5000)));
      const clusters = clustersOf(parts);
      const { lowPs, highPs } = percentileInterval(clusters, 0.9).value!;
      const p90 = percentile(clusters, 0.9).value!;
      expect(lowPs).toBeLessThanOrEqual(p90);
      expect(highPs).toBeGreaterThanOrEqual(p90);
      expect(lowPs).toBeGreaterThanOrEqual(clusters.pooled.minPs!);
      expect(highPs).toBeLessThanOrEqual(clusters.pooled.maxPs!);
    }
  });

  it('is none when it would reach what had not come back', () => {
    const parts = [0, 1, 2, 3, 4].map((start) => Array.from({ length: 400 }, (_, i) => start * 5 + i));
    const open = { unfinished: [0, 0, 0, 0, 1], unfinishedFromPs: 100 };
    expect(percentileInterval(clustersOf(parts, open), 0.5).note!.reason).toBe('unfinished');
  });
});

describe('coverage', () => {
  // Bursts within a replication share a level, so a binomial interval over pooled bursts would be far too narrow. Latency
  // is level + noise; level uniform on 0..1000 and noise exponential, mean 1000, so the p quantile x of the sum solves
  // 1 - (exp(1) - 1)·exp(-x/1000) = p: x = 1000·ln((e - 1)/(1 - p)); the mean is 1500.
  // 400 studies of 10 replications. If the true coverage is 0.95, fewer than 364 or more than 393 hits come by chance
  // with probability under 0.2 % (binomial: 380 ± 4.4).
  const random = xor4096('coverage 1');
  const studies = Array.from({ length: 400 }, () =>
    makeClusters({
      kind: 'replications',
      parts: Array.from({ length: 10 }, () => {
        const made = new Histogram('test');
        const level = random() * 1e6;
        for (let i = 0; i < 120; i++) made.record(Math.round(level - 1e6 * Math.log(1 - random())));
        return made;
      }),
      unfinished: Array.from({ length: 10 }, () => 0),
      unfinishedFromPs: Infinity,
      windowPs: 1e9,
      load: 0.5,
    }),
  );

  it('of the percentile interval is 95 % although bursts depend on each other', () => {
    const truth = 1e6 * Math.log((Math.E - 1) / 0.1);
    const hits = studies.filter((study) => {
      const { lowPs, highPs } = percentileInterval(study, 0.9).value!;
      // ends are read from bins: half a bin either way
      return lowPs * (1 - 1 / 128) <= truth && truth <= highPs * (1 + 1 / 128);
    });
    expect(hits.length).toBeGreaterThanOrEqual(364);
    expect(hits.length).toBeLessThanOrEqual(393);
  });

  it('of the mean interval is 95 %', () => {
    const hits = studies.filter((study) => {
      const { lowPs, highPs } = meanInterval(study).value!;
      return lowPs <= 1.5e6 && 1.5e6 <= highPs;
    });
    expect(hits.length).toBeGreaterThanOrEqual(364);
    expect(hits.length).toBeLessThanOrEqual(393);
  });

  it('of the binomial interval over pooled bursts would not pass the same check', () => {
    const hits = studies.filter(({ pooled }) => {
      const half = 1.96 * Math.sqrt(0.09 / pooled.count);
      const truth = 1e6 * Math.log((Math.E - 1) / 0.1);
      return pooled.quantile(0.9 - half)! <= truth && truth <= pooled.quantile(0.9 + half)!;
    });
    expect(hits.length).toBeLessThan(364 - 20);
  });
});

describe('batches of one replication', () => {
  const alternating = Array.from({ length: 20 }, (_, i) => (i % 2 === 0 ? 100 : 200));
  const one = { kind: 'batches' as const, load: 0.5 };

  it('give an interval when they are long enough for the load and not correlated', () => {
    // load 0.5: 100/(0.5)² = 400 samples a batch. Means 100 and 200 by turns: s = √(20·2500/19), half = t(19)·s/√20
    const { value } = meanInterval(clustersOf(batches(alternating, 400), one));
    expect(value!.highPs - 150).toBeCloseTo(
      (studentQuantile(0.975, 19) * Math.sqrt((20 * 2500) / 19)) / Math.sqrt(20),
      6,
    );
  });

  it('are refused when they are too short for the load', () => {
    const { note } = meanInterval(clustersOf(batches(alternating, 399), one));
    expect(note).toEqual({ reason: 'short_batches', have: 399, need: 400, neededPs: Math.ceil((1e6 * 400) / 399) });
    expect(meanInterval(clustersOf(batches(alternating, 400), { ...one, load: 1 })).note!.neededPs).toBeNull();
  });

  it('are refused when neighbours are alike', () => {
    const rising = Array.from({ length: 20 }, (_, i) => 100 + i);
    const clusters = clustersOf(batches(rising, 400), one);
    expect(meanInterval(clusters).note).toMatchObject({ reason: 'correlated_batches', need: 0.2 });
    expect(percentileInterval(clusters, 0.5).note!.reason).toBe('correlated_batches');
  });

  it('lag-1 correlation of 1 2 3 4 is 0.25', () => {
    // deviations -1.5 -.5 .5 1.5; products .75 - .25 + .75 = 1.25; squares 5
    expect(lagOneCorrelation([1, 2, 3, 4])).toBe(0.25);
    expect(lagOneCorrelation([7, 7, 7])).toBe(0);
  });
});
