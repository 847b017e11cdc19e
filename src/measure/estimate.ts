import type { MetricSpec } from '../scenario/scenario.js';
import { deviationOf } from './statistics/clusters.js';
import { meanInterval, percentile, percentileInterval } from './statistics/intervals.js';
import { mergedClusters } from './level-clusters.js';
import { overloadedPaths } from './overload.js';
import type { ReplicationResult } from './results.js';
import type { EstimateState } from './tables/rows.js';
import { studentQuantile } from './statistics/student.js';
import { isOfTime, levelsOf, type OfTime, valuesOf } from './subject.js';

/** A metric of one system, in its canonical unit, with its interval at 95 %; null where there is none. */
export interface Estimate {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** Why there is no value or what it is worth. */
  readonly state: EstimateState;
}

/** What replications say of a metric, as latency.csv would: replications are clusters, bursts are not independent. */
export function estimateOf(metric: MetricSpec, replications: readonly ReplicationResult[]): Estimate {
  if (isOfTime(metric)) return latency(metric, replications);
  const each = valuesOf(metric, replications);
  const value = each.reduce((sum, one) => sum + one, 0) / each.length;
  if (each.length < 2 || each.every((one) => one === each[0]))
    return { value, low: null, high: null, state: 'measured' };
  const half = (studentQuantile(0.975, each.length - 1) * deviationOf(each)) / Math.sqrt(each.length);
  return { value, low: value - half, high: value + half, state: 'measured' };
}

function latency(metric: OfTime<MetricSpec>, replications: readonly ReplicationResult[]): Estimate {
  const levels = replications.map((one) => levelsOf(one, metric));
  const none = { value: null, low: null, high: null };
  if (levels.every((own) => own.every(({ histogram }) => histogram.count === 0)))
    return { ...none, state: 'no_samples' };
  const clusters = mergedClusters(metric.name, levels, replications[0]!.windowPs);
  const p = metric.percentile;
  const value = p === null ? clusters.pooled.meanPs : percentile(clusters, p).value;
  const interval =
    replications.length < 2 ? null : (p === null ? meanInterval(clusters) : percentileInterval(clusters, p)).value;
  const overloaded = metric.kind === 'latency' && overloadedPaths(replications, metric).length > 0;
  const state = overloaded ? 'overloaded' : value === null ? 'too_few_samples' : 'measured';
  return { value, low: interval?.lowPs ?? null, high: interval?.highPs ?? null, state };
}
