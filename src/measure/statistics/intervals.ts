/**
 * Intervals at 95 %. Replications (or the batches of a single one) are the independent clusters; the bursts within one
 * are not independent, so nothing here uses their number as a sample size.
 */
import { type Clusters, batchFault, deviationOf, sizeOf } from './clusters.js';
import type { Histogram } from './histogram.js';
import { type Measured, known, tooFew, unknown } from '../note.js';
import { rankOf } from './rank.js';
import { studentQuantile } from './student.js';

/** Samples beyond a percentile from which on it is printed, and its interval; and the clusters they must come from. */
export const BEYOND_FOR_VALUE = 10;
export const BEYOND_FOR_INTERVAL = 100;
export const CLUSTERS_FOR_INTERVAL = 5;

const CONFIDENCE = 0.975;

export interface Interval {
  lowPs: number;
  highPs: number;
}

/**
 * Interval of the mean m = Σ sum_r / Σ n_r, a ratio of sums: m ± t(R−1, .975) · s_d / (√R · n̄), where s_d is the standard
 * deviation of d_r = sum_r − m·n_r (Cochran, Sampling Techniques, 3rd ed., 6.3).
 */
export function meanInterval(clusters: Clusters): Measured<Interval> {
  const { parts, pooled } = clusters;
  if (pooled.count === 0) return unknown('no_samples');
  if (parts.length < 2) return unknown('few_clusters', parts.length, 2);
  const mean = pooled.meanPs!;
  if (sameMeans(parts)) return unknown('deterministic');
  // n·(mean_r − m) rather than sum_r − m·n: the large sums would cancel
  const residuals = parts.map((part) => part.count * ((part.meanPs ?? mean) - mean));
  const fault = batchFault<Interval>(clusters, residuals);
  if (fault !== null) return fault;
  const averageCount = pooled.count / parts.length;
  const half =
    (studentQuantile(CONFIDENCE, parts.length - 1) * deviationOf(residuals)) / (Math.sqrt(parts.length) * averageCount);
  return known({ lowPs: mean - half, highPs: mean + half });
}

/**
 * The `p` percentile of all samples. Empty when fewer than ten lie beyond it, or when those that had not come back could
 * move it to another bin.
 */
export function percentile(clusters: Clusters, p: number): Measured<number> {
  const { pooled } = clusters;
  if (pooled.count === 0) return unknown('no_samples');
  const open = clusters.unfinished.reduce((sum, x) => sum + x, 0);
  const beyond = pooled.count - rankOf(p, pooled.count);
  if (beyond < BEYOND_FOR_VALUE) return fewBeyond(pooled.count, p, BEYOND_FOR_VALUE, clusters.windowPs);
  const value = pooled.quantile(p)!;
  if (open > 0 && !standsAgainst(pooled, p, open, clusters.unfinishedFromPs)) return unknown('unfinished', open, 0);
  return known(value);
}

/**
 * Interval of the `p` percentile by Woodruff (J. Amer. Statist. Assoc. 47, 1952) with replications as clusters: all x with
 * |Σ d_r| ≤ t(R−1, .975) · √R · s_d, where d_r = (count ≤ x) − p·n_r. No density and no independence of bursts is
 * assumed. Where the distribution jumps across the band, both ends are the value at which it jumps. Ends are readings of
 * bins; samples that had not come back count as larger than all.
 */
export function percentileInterval(clusters: Clusters, p: number): Measured<Interval> {
  const { parts, pooled, windowPs } = clusters;
  if (pooled.count === 0) return unknown('no_samples');
  const beyond = pooled.count - rankOf(p, pooled.count);
  if (beyond < BEYOND_FOR_INTERVAL) return fewBeyond(pooled.count, p, BEYOND_FOR_INTERVAL, windowPs);
  const walk = cumulate(clusters);
  if (isDeterministic(clusters, walk)) return unknown('deterministic');
  const at = walk.findIndex((step) => sumOf(step.counts) >= rankOf(p, pooled.count));
  const contributing = parts.filter((part, r) => part.count > (at === 0 ? 0 : walk[at - 1]!.counts[r]!)).length;
  if (contributing < CLUSTERS_FOR_INTERVAL) return unknown('few_clusters', contributing, CLUSTERS_FOR_INTERVAL);
  const fault = batchFault<Interval>(clusters, residualsAt(clusters, walk[at]!, p));
  if (fault !== null) return fault;
  return woodruff(clusters, walk, p);
}

/** Cumulated counts by part up to and including one reading. */
interface Step {
  valuePs: number;
  counts: number[];
}

function woodruff(clusters: Clusters, walk: readonly Step[], p: number): Measured<Interval> {
  const parts = clusters.parts.length;
  const factor = studentQuantile(CONFIDENCE, parts - 1) * Math.sqrt(parts);
  const bands = walk.map((step) => {
    const residuals = residualsAt(clusters, step, p);
    return { sum: sumOf(residuals), half: factor * deviationOf(residuals) };
  });
  const low = bands.findIndex(({ sum, half }) => sum >= -half);
  const high = bands.findLastIndex(({ sum, half }) => sum <= half) + 1;
  if (low < 0 || high >= walk.length) return unknown('uneven');
  const lowPs = clusters.pooled.clamp(walk[low]!.valuePs);
  const highPs = clusters.pooled.clamp(walk[high]!.valuePs);
  // an unfinished sample was taken as larger than all; that holds only for readings below the youngest of them
  if (highPs > clusters.unfinishedFromPs) return unknown('unfinished', sumOf(clusters.unfinished), 0);
  return known({ lowPs, highPs });
}

function residualsAt(clusters: Clusters, step: Step, p: number): number[] {
  return step.counts.map((count, r) => count - p * sizeOf(clusters, r));
}

/** By reading of the pooled distribution, ascending: how many samples of each part are at most that. */
function cumulate({ parts, pooled }: Clusters): Step[] {
  const readings = parts.map((part) => part.readings());
  const next = readings.map(() => 0);
  const counts = readings.map(() => 0);
  return pooled.readings().map(({ valuePs }) => {
    readings.forEach((list, r) => {
      const reading = list[next[r]!];
      if (reading === undefined || reading.valuePs > valuePs) return;
      counts[r]! += reading.count;
      next[r]!++;
    });
    return { valuePs, counts: [...counts] };
  });
}

/** Do all parts have one and the same distribution, whatever their number of samples? */
function isDeterministic(clusters: Clusters, walk: readonly Step[]): boolean {
  if (clusters.unfinished.some((open) => open > 0)) return false;
  const used = clusters.parts.flatMap((part, r) => (part.count > 0 ? [r] : []));
  const share = (step: Step, r: number): number => step.counts[r]! / clusters.parts[r]!.count;
  return used.length > 1 && walk.every((step) => used.every((r) => share(step, r) === share(step, used[0]!)));
}

/** Are the means of all parts that have samples exactly equal? */
function sameMeans(parts: readonly Histogram[]): boolean {
  const used = parts.filter((part) => part.count > 0);
  const first = used[0]!;
  return used.length > 1 && used.every((part) => part.total * BigInt(first.count) === first.total * BigInt(part.count));
}

/** Is the percentile in the same reading whatever the `open` samples, each at least `fromPs`, turn out to be? */
function standsAgainst(pooled: Histogram, p: number, open: number, fromPs: number): boolean {
  const rank = rankOf(p, pooled.count);
  const shifted = rankOf(p, pooled.count + open);
  let seen = 0;
  for (const reading of pooled.readings()) {
    seen += reading.count;
    if (seen >= rank) return seen >= shifted && reading.valuePs <= fromPs;
  }
  return false;
}

/** The samples needed so that `beyond` of them lie past p are beyond/(1 − p), cleared of the rounding of 1 − p. */
function fewBeyond<T>(count: number, p: number, beyond: number, windowPs: number): Measured<T> {
  return tooFew('few_beyond', count, Math.ceil(Math.round((beyond / (1 - p)) * 1e3) / 1e3), windowPs);
}

const sumOf = (series: readonly number[]): number => series.reduce((sum, x) => sum + x, 0);
