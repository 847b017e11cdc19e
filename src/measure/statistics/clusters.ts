import { type Histogram, mergeAll } from './histogram.js';
import { type Measured, tooFew, unknown } from '../note.js';

/** Batches into which a single replication is cut. */
export const BATCHES = 20;
/** Lag-1 correlation of the batches from which on they do not count as independent. */
export const CORRELATION_LIMIT = 0.2;

/**
 * What an interval is made from: the samples of one path in parts that are independent of each other. The parts are
 * replications, or the batches (equal spans of wanted time, in order) of a single one.
 */
export interface Clusters {
  kind: 'replications' | 'batches';
  parts: readonly Histogram[];
  /** All parts together. */
  pooled: Histogram;
  /** By part: samples that had not come back when the run stopped. */
  unfinished: readonly number[];
  /** No unfinished sample can end below this, in ps; Infinity when there is none. */
  unfinishedFromPs: number;
  /** Measuring window of one replication, in ps. */
  windowPs: number;
  /** Utilisation of the busiest element on the path, 0 to 1: decides how long a batch must be. */
  load: number;
}

/** Makes clusters and pools them; there must be at least one part. */
export function makeClusters(given: Omit<Clusters, 'pooled'>): Clusters {
  return { ...given, pooled: mergeAll(given.parts[0]!.name, given.parts) };
}

/** Samples of a part, finished or not. */
export const sizeOf = (clusters: Clusters, part: number): number =>
  clusters.parts[part]!.count + clusters.unfinished[part]!;

/** Correlation between neighbours of a series; 0 for a constant one. */
export function lagOneCorrelation(series: readonly number[]): number {
  const mean = series.reduce((sum, x) => sum + x, 0) / series.length;
  let above = 0;
  let below = 0;
  for (let i = 0; i < series.length; i++) {
    below += (series[i]! - mean) ** 2;
    if (i > 0) above += (series[i]! - mean) * (series[i - 1]! - mean);
  }
  return below === 0 ? 0 : above / below;
}

/** Sample standard deviation (n − 1 below) of a series of at least two. */
export function deviationOf(series: readonly number[]): number {
  const mean = series.reduce((sum, x) => sum + x, 0) / series.length;
  return Math.sqrt(series.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (series.length - 1));
}

/**
 * Why batches cannot stand for replications, or null if they can: each must hold at least 100/(1 − load)² samples, and
 * `residuals`, one a batch, must not be correlated. Always null for replications.
 */
export function batchFault<T>(clusters: Clusters, residuals: readonly number[]): Measured<T> | null {
  if (clusters.kind === 'replications') return null;
  const need = clusters.load < 1 ? Math.ceil(100 / (1 - clusters.load) ** 2) : Infinity;
  const least = Math.min(...clusters.parts.map((part) => part.count));
  if (need === Infinity) return unknown('short_batches', least);
  if (least < need) return tooFew('short_batches', least, need, clusters.windowPs);
  const correlation = lagOneCorrelation(residuals);
  // batches twice as long are less correlated; how much less, the data do not tell
  if (correlation >= CORRELATION_LIMIT) {
    return unknown('correlated_batches', correlation, CORRELATION_LIMIT, 2 * clusters.windowPs);
  }
  return null;
}
