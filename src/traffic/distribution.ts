import type { RandomStream } from '../engine/random.js';
import type { DistributionSpec } from '../scenario/scenario.js';
import { runningSums, weightedIndex } from './cumulative.js';
import { normalQuantile } from './normal.js';

/** First two moments about zero, in the distribution's unit and its square. */
export interface Moments {
  mean: number;
  secondMoment: number;
}

/**
 * The inverse of the distribution function, from a uniform number in [0, 1) to a value in the distribution's unit; it
 * never falls. Every draw goes through it, so every draw costs exactly one uniform number.
 *
 * exponential: −mean · ln(1 − u). geometric: `unit` times a count from 1 on, whose mean is `mean` (a number of units).
 * lognormal: `spread` is the coefficient of variation, deviation over mean. table: values by their weights.
 *
 * Throws a RangeError on parameters outside their range.
 */
export function quantileOf(spec: DistributionSpec): (u: number) => number {
  checkDistribution(spec);
  switch (spec.kind) {
    case 'fixed':
      return fixedQuantile(spec.value);
    case 'uniform':
      return uniformQuantile(spec.low, spec.high);
    case 'exponential':
      return exponentialQuantile(spec.mean);
    case 'geometric':
      return geometricQuantile(spec.mean, spec.unit);
    case 'lognormal':
      return lognormalQuantile(spec.mean, spec.spread);
    default:
      return tableQuantile(spec.values, spec.weights);
  }
}

/** Draws of the distribution, each from one number of `random`. Errors as for `quantileOf`. */
export function makeDraw(spec: DistributionSpec, random: RandomStream): () => number {
  const quantile = quantileOf(spec);
  return () => quantile(random());
}

/** Draws rounded to whole picoseconds, bytes or counts and held within `least` and `most`. */
export function roundedDraw(
  spec: DistributionSpec,
  random: RandomStream,
  least = 0,
  most = Number.MAX_SAFE_INTEGER,
): () => number {
  if (spec.kind === 'fixed') {
    checkDistribution(spec);
    const always = roundWithin(spec.value, least, most);
    return () => always;
  }
  const quantile = quantileOf(spec);
  return () => roundWithin(quantile(random()), least, most);
}

export function meanOf(spec: DistributionSpec): number {
  return momentsOf(spec).mean;
}

/** Moments of the distribution itself, before any rounding. Errors as for `quantileOf`. */
export function momentsOf(spec: DistributionSpec): Moments {
  checkDistribution(spec);
  switch (spec.kind) {
    case 'fixed':
      return { mean: spec.value, secondMoment: spec.value ** 2 };
    case 'uniform':
      return {
        mean: (spec.low + spec.high) / 2,
        secondMoment: (spec.low ** 2 + spec.low * spec.high + spec.high ** 2) / 3,
      };
    case 'exponential':
      return { mean: spec.mean, secondMoment: 2 * spec.mean ** 2 };
    case 'geometric':
      return { mean: spec.mean * spec.unit, secondMoment: spec.mean * (2 * spec.mean - 1) * spec.unit ** 2 };
    case 'lognormal':
      return { mean: spec.mean, secondMoment: spec.mean ** 2 * (1 + spec.spread ** 2) };
    default:
      return tableMoments(spec.values, spec.weights);
  }
}

/**
 * Mean of what `roundedDraw` gives: the exact mean plus what rounding and limits change, averaged over the distribution.
 * Exact for fixed values and wherever nothing is changed; else good to about 1e-4 of the mean, heavy tails included.
 */
export function meanOfRounded(spec: DistributionSpec, least: number, most: number): number {
  const quantile = quantileOf(spec);
  const change = (u: number): number => {
    const value = quantile(u);
    return roundWithin(value, least, most) - value;
  };
  if (spec.kind === 'fixed') return meanOf(spec) + change(0.5);
  let sum = averageOver(0, 1 - TAIL, 16_128, change) * (1 - TAIL);
  // the tail is halved again and again, as a limit changes most at its end; below 2^-49 points hardly differ
  for (let rest = TAIL; rest > 2 ** -49; rest /= 2)
    sum += averageOver(1 - rest, 1 - rest / 2, 128, change) * (rest / 2);
  return meanOf(spec) + sum;
}

/** Share of a distribution, at its upper end, that `meanOfRounded` looks at more closely. */
const TAIL = 1 / 64;

/** Average over the middles of `count` equal parts of a range. */
function averageOver(from: number, to: number, count: number, value: (u: number) => number): number {
  let sum = 0;
  for (let point = 0; point < count; point++) sum += value(from + ((point + 0.5) / count) * (to - from));
  return sum / count;
}

function roundWithin(value: number, least: number, most: number): number {
  return Math.min(most, Math.max(least, Math.round(value)));
}

function fixedQuantile(value: number): (u: number) => number {
  return () => value;
}

function uniformQuantile(low: number, high: number): (u: number) => number {
  return (u) => low + u * (high - low);
}

function exponentialQuantile(mean: number): (u: number) => number {
  return (u) => -mean * Math.log1p(-u);
}

function geometricQuantile(mean: number, unit: number): (u: number) => number {
  const logOfMiss = Math.log1p(-1 / mean);
  return (u) => unit * (1 + Math.floor(Math.log1p(-u) / logOfMiss));
}

function lognormalQuantile(mean: number, spread: number): (u: number) => number {
  const variance = Math.log1p(spread * spread);
  const deviation = Math.sqrt(variance);
  const middle = mean * Math.exp(-variance / 2);
  // without spread 0 × −Infinity would be no number
  return deviation === 0 ? () => mean : (u) => middle * Math.exp(deviation * normalQuantile(u));
}

function tableQuantile(values: readonly number[], weights: readonly number[]): (u: number) => number {
  const order = values.map((_, index) => index).toSorted((a, b) => values[a]! - values[b]!);
  const sorted = Float64Array.from(order, (index) => values[index]!);
  const sums = runningSums(order.length, (index) => weights[order[index]!]!);
  return (u) => sorted[weightedIndex(sums, u)]!;
}

function tableMoments(values: readonly number[], weights: readonly number[]): Moments {
  let total = 0;
  let first = 0;
  let second = 0;
  for (const [index, value] of values.entries()) {
    const weight = weights[index]!;
    total += weight;
    first += weight * value;
    second += weight * value * value;
  }
  return { mean: first / total, secondMoment: second / total };
}

function checkDistribution(spec: DistributionSpec): void {
  switch (spec.kind) {
    case 'fixed':
      return demand(spec.value >= 0, 'fixed value must be 0 or more', spec.value);
    case 'uniform':
      demand(spec.low >= 0, 'uniform low must be 0 or more', spec.low);
      return demand(spec.high >= spec.low, `uniform high must be at least low (${spec.low})`, spec.high);
    case 'exponential':
      return demand(spec.mean > 0, 'exponential mean must be above 0', spec.mean);
    case 'geometric':
      demand(spec.unit > 0, 'geometric unit must be above 0', spec.unit);
      return demand(spec.mean >= 1, 'geometric mean must be at least 1 unit', spec.mean);
    case 'lognormal':
      demand(spec.mean > 0, 'lognormal mean must be above 0', spec.mean);
      return demand(spec.spread >= 0, 'lognormal spread must be 0 or more', spec.spread);
    case 'table':
      return checkTable(spec.values, spec.weights);
  }
}

function checkTable(values: readonly number[], weights: readonly number[]): void {
  demand(weights.length === values.length, `table must have ${values.length} weights`, weights.length);
  for (const value of values) demand(value >= 0, 'table values must be 0 or more', value);
  for (const weight of weights) demand(weight >= 0, 'table weights must be 0 or more', weight);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  demand(total > 0, 'table weights must add up to more than 0', total);
}

function demand(holds: boolean, rule: string, got: number): void {
  if (!holds || !Number.isFinite(got)) throw new RangeError(`distribution: ${rule}, got ${got}`);
}
