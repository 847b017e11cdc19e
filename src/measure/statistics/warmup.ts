/** Where the warm-up of a pilot replication ends. */
import { commonMultiple } from '../../engine/common-multiple.js';

/** Observations in one batch of MSER-5. */
const BATCH = 5;
/** Batches at the end that may not stand alone: with so few left, chance makes the statistic small. */
const LEAST_LEFT = 5;

/** The number of observations to drop, or that the series had not settled within its first half. */
export type Truncation = { settled: true; drop: number } | { settled: false };

/**
 * MSER-5 (White, Simulation 69, 1997; batches of five, Spratt 1998): averages of five observations are cut where the
 * squared standard error of what is left, Σ (z − z̄)² / (k − d)², is least; the earliest cut wins a tie. A cut beyond half
 * of the series, or a series of fewer than ten batches, is not settled.
 *
 * @param series observations in order of time
 */
export function mser5(series: readonly number[]): Truncation {
  const batches = batchMeans(series);
  const k = batches.length;
  if (k < 2 * LEAST_LEFT) return { settled: false };
  let best = k;
  let least = Infinity;
  let mean = 0;
  let squares = 0;
  // from the end, one batch more each time (Welford's update), so that every cut costs the same
  for (let cut = k - 1; cut >= 0; cut--) {
    const left = k - cut;
    const before = batches[cut]! - mean;
    mean += before / left;
    squares += before * (batches[cut]! - mean);
    if (left < LEAST_LEFT) continue;
    const error = squares / (left * left);
    if (error <= least) {
      least = error;
      best = cut;
    }
  }
  return best > k / 2 ? { settled: false } : { settled: true, drop: best * BATCH };
}

function batchMeans(series: readonly number[]): number[] {
  return Array.from({ length: Math.floor(series.length / BATCH) }, (_, b) => {
    let sum = 0;
    for (let i = 0; i < BATCH; i++) sum += series[b * BATCH + i]!;
    return sum / BATCH;
  });
}

/** One path's pilot: when each observation was wanted, ascending, and what it measured. */
export interface PilotSeries {
  timesPs: readonly number[];
  values: readonly number[];
}

/** The instant at which the first kept observation was wanted; null when the series has not settled. */
export function settledAtPs(series: PilotSeries): number | null {
  const found = mser5(series.values);
  return found.settled ? (found.drop === 0 ? 0 : series.timesPs[found.drop]!) : null;
}

export interface WarmupNeed {
  /** By path and placement: when it settled, or null. */
  settledPs: readonly (number | null)[];
  /** The warm-up is never shorter: cache lookups, buffer walks, task periods. */
  atLeastPs: number;
  /** The warm-up is a whole number of these; 0 for none. */
  hyperperiodPs: number;
  pilotPs: number;
}

/**
 * One warm-up for all paths and placements: the latest instant, rounded up to a whole number of hyperperiods. null (not
 * settled) when a path has not settled or the instant lies beyond half the pilot: make it longer.
 */
export function commonWarmupPs(need: WarmupNeed): number | null {
  let latest = need.atLeastPs;
  for (const settled of need.settledPs) {
    if (settled === null) return null;
    latest = Math.max(latest, settled);
  }
  if (need.hyperperiodPs > 0) latest = Math.ceil(latest / need.hyperperiodPs) * need.hyperperiodPs;
  return latest > need.pilotPs / 2 ? null : latest;
}

/** Least common multiple of whole periods, or 0 when there is none or it would exceed `limitPs`. */
export function hyperperiodPs(periodsPs: readonly number[], limitPs: number): number {
  const common = commonMultiple(periodsPs, limitPs);
  return common === Infinity ? 0 : common;
}
