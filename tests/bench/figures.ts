/** What one load's rounds brought. */
export interface Measured {
  /** Of each round. */
  readonly seconds: readonly number[];
  readonly bursts: number;
  readonly events: number;
  readonly columnAccesses: number;
  readonly lookups: number;
  /** Collections of the young generation during the last round. */
  readonly collections: number;
  readonly peakBytes: number;
}

/** The figures of a load, by the names that the JSON has. */
export interface Figures {
  readonly bursts_per_s_best: number;
  readonly bursts_per_s_median: number;
  /** Slowest round less quickest, of the median. */
  readonly spread: number;
  readonly column_accesses_per_s: number;
  readonly lookups_per_s: number;
  readonly events_per_s: number;
  readonly events_per_burst: number;
  readonly ns_per_burst: number;
  readonly ns_per_event: number;
  readonly young_collections: number;
  readonly peak_mb: number;
}

/** Rates are those of the median round, but for the best. */
export function figuresOf(measured: Measured): Figures {
  const { seconds, bursts, events, columnAccesses, lookups, collections, peakBytes } = measured;
  const sorted = seconds.toSorted((a, b) => a - b);
  const median = medianOf(sorted);
  return {
    bursts_per_s_best: Math.round(bursts / sorted[0]!),
    bursts_per_s_median: Math.round(bursts / median),
    spread: round((sorted.at(-1)! - sorted[0]!) / median, 3),
    column_accesses_per_s: Math.round(columnAccesses / median),
    lookups_per_s: Math.round(lookups / median),
    events_per_s: Math.round(events / median),
    events_per_burst: round(events / bursts, 2),
    ns_per_burst: round((median * 1e9) / bursts, 1),
    ns_per_event: round((median * 1e9) / events, 1),
    young_collections: collections,
    peak_mb: Math.round(peakBytes / 1e6),
  };
}

/** Of numbers in ascending order, at least one. */
export function medianOf(sorted: readonly number[]): number {
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

const round = (value: number, digits: number): number => Math.round(value * 10 ** digits) / 10 ** digits;
