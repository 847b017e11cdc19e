/**
 * Differences of one metric between two systems that were run in pairs: replication r of both has the same draws, so that
 * what is common to both cancels.
 */
import type { MetricSpec } from '../scenario/scenario.js';
import { mergedLevels } from './level-clusters.js';
import { type Histogram, mergeAll } from './statistics/histogram.js';
import { BEYOND_FOR_VALUE } from './statistics/intervals.js';
import { rankOf } from './statistics/rank.js';
import type { ReplicationResult } from './results.js';
import { studentQuantile } from './statistics/student.js';
import { isOfTime, levelsOf, type OfTime, valuesOf } from './subject.js';

/** Replications of both systems, in order and equally many, at least two. */
export interface Pairs {
  readonly baseline: readonly ReplicationResult[];
  readonly variant: readonly ReplicationResult[];
}

/** Why there is no difference to speak of. */
export type Unjudged = 'too_few_samples' | 'unfinished';

/** In the canonical unit of the metric; the interval is `difference` ± `half`. */
export interface Difference {
  readonly baseline: number;
  readonly variant: number;
  readonly difference: number;
  readonly half: number;
}

/** Values of a metric: over all replications, and by replication, such that their spread is that of the whole. */
export interface Series {
  readonly whole: number;
  readonly each: readonly number[];
  /** What reading bins may be off by. */
  readonly roughness: number;
}

/** The difference variant − baseline with its two-sided interval, which misses the true one at most so often as `error`. */
export function differenceOf(metric: MetricSpec, pairs: Pairs, error: number): Difference | Unjudged {
  const baseline = seriesOf(metric, pairs.baseline);
  const variant = seriesOf(metric, pairs.variant);
  if (typeof baseline === 'string') return baseline;
  if (typeof variant === 'string') return variant;
  const difference = variant.whole - baseline.whole;
  const differences = variant.each.map((value, r) => value - baseline.each[r]!);
  const replications = differences.length;
  const spread = spreadAbout(difference, differences);
  const half = (studentQuantile(1 - error / 2, replications - 1) * spread) / Math.sqrt(replications);
  return {
    baseline: baseline.whole,
    variant: variant.whole,
    difference,
    half: half + baseline.roughness + variant.roughness,
  };
}

/**
 * Deviation about the difference of the pooled values rather than about the mean of the single ones: a percentile of one
 * replication is biased, and what it is off by then widens the interval instead of moving it (sectioning; Nakayama, ACM
 * Trans. Model. Comput. Simul. 24(4), 2014, there also for paired draws). For means both are the same.
 */
function spreadAbout(centre: number, values: readonly number[]): number {
  return Math.sqrt(values.reduce((sum, value) => sum + (value - centre) ** 2, 0) / (values.length - 1));
}

/** The values of a metric of one system, or why there are none. */
export function seriesOf(metric: MetricSpec, replications: readonly ReplicationResult[]): Series | Unjudged {
  if (isOfTime(metric)) return latencySeries(metric, replications);
  const each = valuesOf(metric, replications);
  return { whole: meanOf(each), each, roughness: 0 };
}

function latencySeries(metric: OfTime<MetricSpec>, replications: readonly ReplicationResult[]): Series | Unjudged {
  const levels = replications.map((one) => levelsOf(one, metric));
  if (levels.some((own) => own.length === 0)) return 'too_few_samples';
  // they would make the latency longer, nobody knows by how much
  if (levels.flat().some(({ unfinished }) => unfinished > 0)) return 'unfinished';
  const parts = mergedLevels(metric.name, levels);
  const pooled = mergeAll(metric.name, parts);
  return metric.percentile === null ? meanSeries(pooled, parts) : percentileSeries(metric.percentile, pooled, parts);
}

/** A ratio of sums, linear about its value: m + n_r (mean_r − m) / n̄ (Cochran, Sampling Techniques, 3rd ed., 6.3). */
function meanSeries(pooled: Histogram, parts: readonly Histogram[]): Series | Unjudged {
  if (pooled.count < BEYOND_FOR_VALUE * parts.length) return 'too_few_samples';
  const whole = pooled.meanPs!;
  const averageCount = pooled.count / parts.length;
  const each = parts.map((part) => whole + (part.count * ((part.meanPs ?? whole) - whole)) / averageCount);
  return { whole, each, roughness: 0 };
}

/** With fewer than ten samples beyond it in a replication on average, its percentile says little of the whole's. */
function percentileSeries(p: number, pooled: Histogram, parts: readonly Histogram[]): Series | Unjudged {
  const beyond = pooled.count - rankOf(p, pooled.count);
  if (beyond < BEYOND_FOR_VALUE * parts.length || parts.some((part) => part.count === 0)) return 'too_few_samples';
  const whole = pooled.quantile(p)!;
  return { whole, each: parts.map((part) => part.quantile(p)!), roughness: binHalf(pooled, whole) };
}

/** Half the width of the bin that holds a value. */
function binHalf(histogram: Histogram, valuePs: number): number {
  const bin = histogram.bins().find(({ lowPs, highPs }) => lowPs <= valuePs && valuePs < highPs);
  return bin === undefined ? 0 : (bin.highPs - bin.lowPs) / 2;
}

/** Of equal values exactly that value, so that systems which do the same differ by nothing. */
function meanOf(values: readonly number[]): number {
  const [first] = values;
  const above = values.reduce((sum, value) => sum + (value - first!), 0);
  return first! + above / values.length;
}
