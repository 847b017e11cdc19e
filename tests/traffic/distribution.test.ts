import { describe, expect, it } from 'vitest';
import { randomStream } from '../../src/engine/random.js';
import type { DistributionSpec } from '../../src/scenario/scenario.js';
import { makeDraw, meanOf, meanOfRounded, momentsOf, quantileOf, roundedDraw } from '../../src/traffic/distribution.js';
import { chiSquare, chiSquareLimit, kolmogorov, KOLMOGOROV_1E4, normalCdf, NORMAL_1E4 } from './statistics.js';

const SAMPLE = 20_000;

const uniform: DistributionSpec = { kind: 'uniform', low: 100, high: 400 };
const exponential: DistributionSpec = { kind: 'exponential', mean: 250 };
const geometric: DistributionSpec = { kind: 'geometric', mean: 3, unit: 64 };
const lognormal: DistributionSpec = { kind: 'lognormal', mean: 1000, spread: 0.8 };
const table: DistributionSpec = { kind: 'table', values: [500, 20, 70], weights: [1, 5, 2] };
const fixed: DistributionSpec = { kind: 'fixed', value: 42 };
const all = [fixed, uniform, exponential, geometric, lognormal, table];

function sampleOf(spec: DistributionSpec, count = SAMPLE): number[] {
  const draw = makeDraw(spec, randomStream('distribution', 0, spec.kind, 'test'));
  return Array.from({ length: count }, () => draw());
}

describe('makeDraw', () => {
  it('draws from the stated distribution function (Kolmogorov, 1e-4 each)', () => {
    const variance = Math.log(1 + 0.8 ** 2);
    const cdfs: [DistributionSpec, (x: number) => number][] = [
      [uniform, (x) => (x - 100) / 300],
      [exponential, (x) => 1 - Math.exp(-x / 250)],
      [lognormal, (x) => normalCdf((Math.log(x / 1000) + variance / 2) / Math.sqrt(variance))],
    ];
    for (const [spec, cdf] of cdfs) expect(kolmogorov(sampleOf(spec), cdf)).toBeLessThan(KOLMOGOROV_1E4);
  });

  it('draws counts and table values in their shares (chi-square, 1e-4 each)', () => {
    const counts = Array.from({ length: 12 }, () => 0);
    for (const value of sampleOf(geometric)) counts[Math.min(value / 64, 12) - 1]!++;
    const shares = counts.map((_, index) => (index < 11 ? (1 / 3) * (2 / 3) ** index : (2 / 3) ** 11));
    expect(chiSquare(counts, shares)).toBeLessThan(chiSquareLimit(11));

    const drawn = sampleOf(table);
    const perValue = [20, 70, 500].map((value) => drawn.filter((x) => x === value).length);
    expect(chiSquare(perValue, [5 / 8, 2 / 8, 1 / 8])).toBeLessThan(chiSquareLimit(2));
  });

  it('reads one number of the stream per draw, whatever the distribution', () => {
    for (const spec of all) {
      let read = 0;
      const draw = makeDraw(spec, () => {
        read++;
        return 0.25;
      });
      for (let n = 0; n < 10; n++) draw();
      expect(read).toBe(10);
    }
  });
});

describe('momentsOf', () => {
  it('is what a large sample has, within 3.9 standard errors (1e-4 each)', () => {
    for (const spec of all) {
      const { mean, secondMoment } = momentsOf(spec);
      const sample = sampleOf(spec);
      expect(standardErrors(sample, mean)).toBeLessThan(NORMAL_1E4);
      expect(
        standardErrors(
          sample.map((x) => x * x),
          secondMoment,
        ),
      ).toBeLessThan(NORMAL_1E4);
    }
  });

  it('gives the textbook values', () => {
    expect(momentsOf(fixed)).toEqual({ mean: 42, secondMoment: 1764 });
    expect(momentsOf(uniform)).toEqual({ mean: 250, secondMoment: 70_000 });
    expect(momentsOf(exponential)).toEqual({ mean: 250, secondMoment: 125_000 });
    // a count of mean 3 has p = 1/3, second moment (2 − p)/p² = 15
    expect(momentsOf(geometric)).toEqual({ mean: 192, secondMoment: 15 * 64 * 64 });
    expect(momentsOf(lognormal)).toEqual({ mean: 1000, secondMoment: 1e6 * (1 + 0.8 ** 2) });
    // (500 + 5·20 + 2·70)/8 and (250,000 + 5·400 + 2·4,900)/8
    expect(momentsOf(table)).toEqual({ mean: 92.5, secondMoment: 32_725 });
    expect(meanOf(table)).toBe(92.5);
  });
});

describe('quantileOf', () => {
  it('never falls, and is finite and not negative from 0 up to the largest draw', () => {
    for (const spec of all) {
      const quantile = quantileOf(spec);
      let before = 0;
      for (let u = 0; u < 1; u += 1 / 512) {
        expect(quantile(u)).toBeGreaterThanOrEqual(before);
        before = quantile(u);
      }
      expect(quantile(1 - 2 ** -53)).toBeGreaterThanOrEqual(before);
      expect(quantile(1 - 2 ** -53)).toBeLessThan(Infinity);
    }
  });

  it('of a lognormal has the stated mean and coefficient of variation, by integration over its logarithm', () => {
    for (const spread of [0.1, 0.8, 2]) {
      const quantile = quantileOf({ kind: 'lognormal', mean: 1000, spread });
      // E f(X) = ∫ f(quantile(Φ(z))) φ(z) dz, in steps of 0.01 up to 8 deviations either way
      let [mean, square] = [0, 0];
      for (let step = -800; step <= 800; step++) {
        const z = step / 100;
        const share = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI) / 100;
        // the upper half through the lower: the product of both is the square of the median
        const value = z <= 0 ? quantile(normalCdf(z)) : quantile(0.5) ** 2 / quantile(normalCdf(-z));
        mean += share * value;
        square += share * value * value;
      }
      expect(mean / 1000).toBeCloseTo(1, 5);
      expect(Math.sqrt(square - mean * mean) / mean / spread).toBeCloseTo(1, 4);
    }
  });

  it('hits known quantiles', () => {
    expect(quantileOf(uniform)(0.5)).toBe(250);
    expect(quantileOf(exponential)(1 - Math.exp(-1))).toBeCloseTo(250, 10);
    expect(quantileOf(geometric)(0)).toBe(64);
    // P(N ≤ 1) = 1/3, P(N ≤ 2) = 5/9
    expect([0.33, 0.34, 0.55, 0.56].map(quantileOf(geometric))).toEqual([64, 128, 128, 192]);
    expect([0, 0.624, 0.625, 0.874, 0.875].map(quantileOf(table))).toEqual([20, 20, 70, 70, 500]);
    // the median of a lognormal is its mean over √(1 + cv²)
    expect(quantileOf(lognormal)(0.5)).toBeCloseTo(1000 / Math.sqrt(1.64), 9);
  });

  it('takes the edges of its parameters: a geometric mean of 1, no spread, a weight of 0', () => {
    expect(quantileOf({ kind: 'geometric', mean: 1, unit: 8 })(0.999)).toBe(8);
    expect(quantileOf({ kind: 'lognormal', mean: 5, spread: 0 })(0)).toBe(5);
    const gap = quantileOf({ kind: 'table', values: [1, 2, 3], weights: [0, 1, 0] });
    expect([0, 0.5, 1 - 2 ** -53].map(gap)).toEqual([2, 2, 2]);
  });

  it('refuses parameters outside their range, with rule and value', () => {
    const wrong: [DistributionSpec, string][] = [
      [{ kind: 'fixed', value: -1 }, 'fixed value must be 0 or more, got -1'],
      [{ kind: 'fixed', value: Infinity }, 'fixed value must be 0 or more, got Infinity'],
      [{ kind: 'uniform', low: 5, high: 4 }, 'uniform high must be at least low (5), got 4'],
      [{ kind: 'exponential', mean: 0 }, 'exponential mean must be above 0, got 0'],
      [{ kind: 'geometric', mean: 0.5, unit: 1 }, 'geometric mean must be at least 1 unit, got 0.5'],
      [{ kind: 'lognormal', mean: 1, spread: Number.NaN }, 'lognormal spread must be 0 or more, got NaN'],
      [{ kind: 'table', values: [1, 2], weights: [1] }, 'table must have 2 weights, got 1'],
      [{ kind: 'table', values: [1], weights: [0] }, 'table weights must add up to more than 0, got 0'],
    ];
    for (const [spec, message] of wrong) {
      expect(() => quantileOf(spec)).toThrow(new RangeError(`distribution: ${message}`));
      expect(() => momentsOf(spec)).toThrow(RangeError);
      expect(() => roundedDraw(spec, () => 0)).toThrow(RangeError);
    }
  });
});

describe('roundedDraw', () => {
  it('gives whole numbers within its limits', () => {
    for (const spec of all) {
      const draw = roundedDraw(spec, randomStream('1', 0, spec.kind, 'rounded'), 30, 200);
      for (let n = 0; n < 500; n++) {
        const value = draw();
        expect(Number.isInteger(value) && value >= 30 && value <= 200).toBe(true);
      }
    }
  });

  it('rounds to the nearest, halves up', () => {
    const values = [0.4, 0.5, 1.5, 2.49];
    const draws = values.map((value) => roundedDraw({ kind: 'fixed', value }, () => 0)());
    expect(draws).toEqual([0, 1, 2, 2]);
  });
});

describe('meanOfRounded', () => {
  it('is the mean itself where rounding and limits change nothing', () => {
    expect(meanOfRounded(fixed, 1, 100)).toBe(42);
    expect(meanOfRounded(geometric, 1, 1e9)).toBe(192);
    expect(meanOfRounded(table, 1, 1e9)).toBe(92.5);
  });

  it('is the mean of what is drawn where they change much', () => {
    // whole draws of an exponential of mean 2, at least 1: 1 + Σ P(X ≥ k − ½) over k from 2 on
    let tail = 1;
    for (let k = 2; k < 200; k++) tail += Math.exp(-(k - 0.5) / 2);
    expect(meanOfRounded({ kind: 'exponential', mean: 2 }, 1, 1e9)).toBeCloseTo(tail, 3);
    // E min(X, 250) of an exponential of mean 250 is 250 · (1 − 1/e)
    expect(meanOfRounded(exponential, 0, 250) / (250 * (1 - Math.exp(-1)))).toBeCloseTo(1, 3);
    expect(meanOfRounded({ kind: 'fixed', value: 300 }, 1, 64)).toBe(64);
  });

  it('is good to 1e-4 where a limit cuts a heavy tail off', () => {
    for (const spread of [0.5, 1, 2, 5, 10]) {
      for (const most of [500, 1000, 4000, 30_000, 1_000_000]) {
        const found = meanOfRounded({ kind: 'lognormal', mean: 1000, spread }, 0, most);
        expect(Math.abs(found / limitedLognormalMean(1000, spread, most) - 1)).toBeLessThan(1e-4);
      }
    }
  });
});

/** E min(X, most) of a lognormal X, in closed form. */
function limitedLognormalMean(mean: number, spread: number, most: number): number {
  const deviation = Math.sqrt(Math.log(1 + spread ** 2));
  const depth = (Math.log(most / mean) + deviation ** 2 / 2) / deviation;
  return mean * normalCdf(depth - deviation) + most * normalCdf(-depth);
}

/** How far the sample's mean is from `mean`, in standard errors; 0 when both are the same. */
function standardErrors(sample: readonly number[], mean: number): number {
  const n = sample.length;
  const found = sample.reduce((sum, x) => sum + x, 0) / n;
  const variance = sample.reduce((sum, x) => sum + (x - found) ** 2, 0) / (n - 1);
  return found === mean ? 0 : Math.abs(found - mean) / Math.sqrt(variance / n);
}
