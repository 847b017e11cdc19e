/** The complementary distribution of a latency: which share of the samples takes longer than x. */
import { numberIn, type SheetRow } from './sheet.js';

export interface TailPoint {
  readonly ns: number;
  /** Share of the samples that take longer, 0 to 1. */
  readonly share: number;
}

export interface TailCurve {
  readonly count: number;
  readonly points: readonly TailPoint[];
}

/** The curve of one path and level, from its rows of distribution.csv in order; it falls evenly within a bin. */
export function tailCurve(rows: readonly SheetRow[]): TailCurve {
  const bins = rows.map((row) => ({
    low: numberIn(row, 'bin_low_ns') ?? 0,
    high: numberIn(row, 'bin_high_ns') ?? 0,
    count: numberIn(row, 'count') ?? 0,
  }));
  const count = bins.reduce((sum, bin) => sum + bin.count, 0);
  const points: TailPoint[] = [];
  let beyond = count;
  for (const bin of bins) {
    const share = beyond / count;
    // between bins nothing lies: the curve is level up to where the next begins
    if (points.at(-1)?.ns !== bin.low) points.push({ ns: bin.low, share });
    beyond -= bin.count;
    points.push({ ns: bin.high, share: beyond / count });
  }
  return { count, points };
}

/** The latency that a share of the samples exceeds, read off the curve; null beyond its ends. */
export function latencyAt({ points }: TailCurve, share: number): number | null {
  const index = points.findIndex((point) => point.share <= share);
  if (index < 0) return null;
  const after = points[index]!;
  const before = points[index - 1];
  if (before === undefined || before.share === after.share) return after.ns;
  return before.ns + ((before.share - share) / (before.share - after.share)) * (after.ns - before.ns);
}
