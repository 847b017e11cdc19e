// Hot path: once per burst. Sums lie in typed arrays, by bin of latency and stage; nothing is allocated per burst.
import { Sums } from '../statistics/sums.js';
import { Histogram, type HistogramPlain } from '../statistics/histogram.js';
import type { Chain } from './chains.js';
import { STAGES, STAGE_OF } from './stage.js';
import { BINS, binOf, type Strata } from './strata.js';

const COUNT = STAGES.length;

/** The stages of a path in one replication, as plain data. */
export interface StagesPlain {
  /** Bursts, and those of them that were followed. */
  readonly count: number;
  readonly followed: number;
  /**
   * Bins of latency in use, ascending; how many bursts lie in each, and their time in each stage, in ps. Exact where all were
   * followed; else the latencies of a bin are, and their split is that of the bursts that were followed there.
   */
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
  private followed = 0;
  /** Bursts that those followed stand for. */
  private stood = 0;
  /** By bin of latency, and by bin × stages + stage: of those that were followed, as often as each stands for others. */
  private readonly drawn = new Sums(BINS);
  private readonly sums = new Sums(BINS * COUNT);
  private readonly burst = new Float64Array(COUNT);
  private readonly histograms: readonly Histogram[];
  /** By stage: the time of the last bursts in it, and how many had the same: many stages take the same again and again. */
  private readonly last = new Float64Array(COUNT);
  private readonly times = new Int32Array(COUNT);

  /** @param strata all bursts of the path; whoever records one here has counted it there */
  constructor(
    path: string,
    private readonly strata: Strata,
  ) {
    this.histograms = STAGES.map(({ name }) => new Histogram(`${path}, ${name}`));
  }

  /** Splits a burst of which the chain is whole, and which stands for `weight` bursts. */
  record(chain: Chain, weight: number): void {
    const { burst, last, times, drawn, sums } = this;
    const { count: links, from: start, end } = chain;
    this.followed++;
    this.stood += weight;
    let from = start;
    for (let link = 0; link < links; link++) {
      const until = chain.untilOf(link);
      burst[STAGE_OF[chain.partOf(link)]!]! += until - from;
      from = until;
    }
    const bin = binOf(end - start);
    drawn.add(bin, (end - start) * weight);
    for (let stage = 0; stage < COUNT; stage++) {
      const ps = burst[stage]!;
      if (ps === 0) continue;
      burst[stage] = 0;
      sums.add(bin * COUNT + stage, ps * weight);
      if (ps === last[stage]) {
        times[stage]! += weight;
        continue;
      }
      this.flush(stage);
      last[stage] = ps;
      times[stage] = weight;
    }
  }

  /** Call once, after the run. */
  toPlain(): StagesPlain {
    for (const [stage, histogram] of this.histograms.entries()) {
      this.flush(stage);
      histogram.tick(0, this.stood - histogram.count);
    }
    const { strata } = this;
    const by = strata.by(this.drawn);
    return {
      count: strata.bursts,
      followed: this.followed,
      bins: by.map(({ bin }) => bin),
      counts: by.map(({ bin }) => strata.counts[bin]!),
      sums: by.map(({ like, scale }) => STAGES.map((_, stage) => this.sums.of(like * COUNT + stage) * scale)),
      histograms: this.histograms.map((histogram) => histogram.toPlain()),
    };
  }

  /** Counts the time of the last bursts in a stage. */
  private flush(stage: number): void {
    this.histograms[stage]!.tick(this.last[stage]!, this.times[stage]!);
    this.times[stage] = 0;
  }
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
