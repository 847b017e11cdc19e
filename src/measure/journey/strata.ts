// Hot path: once per burst. Nothing is allocated.
import { POWERS } from '../statistics/bins.js';
import { Sums } from '../statistics/sums.js';

/** Bins to an octave of latency. */
const QUARTERS = 4;
export const BINS = 53 * QUARTERS;
const TWO_31 = 2 ** 31;

/** How what is known of the bursts of bin `like` stands for all of bin `bin`: so many times over. */
export interface Stratum {
  readonly bin: number;
  /** The bin itself, where any of its bursts was drawn; else the nearest one of which some were, of two the upper. */
  readonly like: number;
  readonly scale: number;
}

/**
 * All bursts of a path by latency, in quarters of an octave: how many and how long. Where the time of a sample of them went
 * is made to stand for all bin by bin, since the slow ones are few and spend their time elsewhere; the latencies stay exact.
 */
export class Strata {
  bursts = 0;
  /** By bin. */
  readonly counts = new Float64Array(BINS);
  private readonly latencies = new Sums(BINS);

  /** Counts a burst. */
  count(latencyPs: number): void {
    const bin = binOf(latencyPs);
    this.bursts++;
    this.counts[bin]!++;
    this.latencies.add(bin, latencyPs);
  }

  /** For each bin in use, ascending, whom to ask: `drawn` has, by bin, the latencies of a sample, each as often as it stands for others. */
  by(drawn: Sums): Stratum[] {
    const used = [...this.counts.keys()].filter((bin) => this.counts[bin]! > 0);
    return used.map((bin) => {
      const like = nearest(bin, (other) => drawn.of(other) > 0);
      return { bin, like, scale: drawn.of(like) > 0 ? this.latencies.of(bin) / drawn.of(like) : 0 };
    });
  }
}

/** The bin nearest to one of which something is true, of two the upper; itself where it is true of none. */
function nearest(bin: number, holds: (bin: number) => boolean): number {
  for (let away = 0; away < BINS; away++) {
    if (bin + away < BINS && holds(bin + away)) return bin + away;
    if (bin - away >= 0 && holds(bin - away)) return bin - away;
  }
  return bin;
}

/** The quarter of an octave that a whole number of ps lies in. */
export function binOf(ps: number): number {
  if (ps < QUARTERS) return ps;
  const large = ps >= TWO_31;
  const top = large ? Math.floor(ps / TWO_31) : ps;
  const octave = 31 - Math.clz32(top) + (large ? 31 : 0);
  return octave * QUARTERS + (Math.floor(ps / POWERS[octave - 2]!) & (QUARTERS - 1));
}
