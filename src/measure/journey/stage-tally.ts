// Hot path: once per burst. Sums lie in typed arrays, by bin of latency and stage; nothing is allocated per burst.
import { POWERS } from '../statistics/bins.js';
import { Sums } from '../statistics/sums.js';
import { Histogram, type HistogramPlain } from '../statistics/histogram.js';
import type { Chain } from './chains.js';
import { STAGES, STAGE_OF } from './stage.js';

/** Bins to an octave of latency. */
const QUARTERS = 4;
const BINS = 53 * QUARTERS;
const COUNT = STAGES.length;
const TWO_31 = 2 ** 31;

/** The stages of a path in one replication, as plain data. */
export interface StagesPlain {
  readonly count: number;
  /** Bins of latency in use, ascending; how many bursts lie in each, and their time in each stage, in ps. */
  readonly bins: readonly number[];
  readonly counts: readonly number[];
  readonly sums: readonly (readonly number[])[];
  /** By stage: the distribution of the time in it over bursts. */
  readonly histograms: readonly HistogramPlain[];
}

/**
 * Time of a path's bursts by stage. Sums are kept for each quarter of an octave of latency, so that those of the slowest
 * bursts can be told afterwards.
 */
export class StageTally {
  private count = 0;
  private readonly counts = new Float64Array(BINS);
  /** By bin × stages + stage. */
  private readonly sums = new Sums(BINS * COUNT);
  private readonly burst = new Float64Array(COUNT);
  private readonly histograms: readonly Histogram[];
  /** By stage: the time of the last bursts in it, and how many had the same: many stages take the same again and again. */
  private readonly last = new Float64Array(COUNT);
  private readonly times = new Int32Array(COUNT);

  constructor(path: string) {
    this.histograms = STAGES.map(({ name }) => new Histogram(`${path}, ${name}`));
  }

  /** Counts a burst of which the chain is whole. */
  record(chain: Chain): void {
    const { burst, last, times } = this;
    const { count: links, from: start, end } = chain;
    let from = start;
    for (let link = 0; link < links; link++) {
      const until = chain.untilOf(link);
      burst[STAGE_OF[chain.partOf(link)]!]! += until - from;
      from = until;
    }
    const bin = quarterOf(end - start);
    this.count++;
    this.counts[bin]!++;
    for (let stage = 0; stage < COUNT; stage++) {
      const ps = burst[stage]!;
      if (ps === 0) continue;
      burst[stage] = 0;
      this.sums.add(bin * COUNT + stage, ps);
      if (ps === last[stage]) {
        times[stage]!++;
        continue;
      }
      this.flush(stage);
      last[stage] = ps;
      times[stage] = 1;
    }
  }

  /** Call once, after the run. */
  toPlain(): StagesPlain {
    for (const [stage, histogram] of this.histograms.entries()) {
      this.flush(stage);
      histogram.tick(0, this.count - histogram.count);
    }
    const bins = [...this.counts.keys()].filter((bin) => this.counts[bin]! > 0);
    return {
      count: this.count,
      bins,
      counts: bins.map((bin) => this.counts[bin]!),
      sums: bins.map((bin) => STAGES.map((_, stage) => this.sums.of(bin * COUNT + stage))),
      histograms: this.histograms.map((histogram) => histogram.toPlain()),
    };
  }

  /** Counts the time of the last bursts in a stage. */
  private flush(stage: number): void {
    this.histograms[stage]!.tick(this.last[stage]!, this.times[stage]!);
    this.times[stage] = 0;
  }
}

/** The quarter of an octave that a whole number of ps lies in. */
function quarterOf(ps: number): number {
  if (ps < QUARTERS) return ps;
  const large = ps >= TWO_31;
  const top = large ? Math.floor(ps / TWO_31) : ps;
  const octave = 31 - Math.clz32(top) + (large ? 31 : 0);
  return octave * QUARTERS + (Math.floor(ps / POWERS[octave - 2]!) & (QUARTERS - 1));
}

/** Mean time of some bursts in each stage. */
export interface StageMeans {
  /** How many bursts: a share of the last bin's counts as a fraction of it. */
  readonly count: number;
  readonly sumsPs: readonly number[];
}

/** Sums by stage over all bursts of some replications. */
export function allBursts(parts: readonly StagesPlain[]): StageMeans {
  const sums = STAGES.map((_, stage) =>
    parts.reduce((total, { sums: bins }) => total + bins.reduce((all, bin) => all + bin[stage]!, 0), 0),
  );
  return { count: parts.reduce((total, { count }) => total + count, 0), sumsPs: sums };
}

/** The same over the slowest `share` of them: whole bins from the top, and of the last one as large a part as is needed. */
export function slowest(parts: readonly StagesPlain[], share: number): StageMeans {
  const count = parts.reduce((total, part) => total + part.count, 0) * share;
  const sums = STAGES.map(() => 0);
  let left = count;
  for (let bin = BINS - 1; bin >= 0 && left > 0; bin--) {
    const found = parts.map(({ bins }) => bins.indexOf(bin));
    const inside = parts.reduce((total, part, p) => total + (found[p]! < 0 ? 0 : part.counts[found[p]!]!), 0);
    if (inside === 0) continue;
    const taken = Math.min(1, left / inside);
    for (const [p, part] of parts.entries()) {
      if (found[p]! >= 0) part.sums[found[p]!]!.forEach((ps, stage) => (sums[stage]! += ps * taken));
    }
    left -= inside * taken;
  }
  return { count, sumsPs: sums };
}
