/** One-sided tests at 95 % over replications, each of which says whether a bound lies on the safe side of a limit. */
import { deviationOf } from './clusters.js';
import { studentQuantile } from './student.js';

/** Error rate of each of the two sides. */
const CONFIDENCE = 0.95;

/** `inside`: the bound that is nearer to the limit keeps it; `outside`: the other one breaks it too. */
export type Side = 'inside' | 'outside' | 'open';

/**
 * Is a mean at most a limit, by a t bound over replications (at least two)? Replications that do not differ have no
 * spread, and are compared as they are.
 */
export function meanAgainst(values: readonly number[], limit: number): Side {
  const mean = sumOf(values) / values.length;
  const half = (quantile(values.length) * deviationOf(values)) / Math.sqrt(values.length);
  if (mean + half <= limit) return 'inside';
  return mean - half > limit ? 'outside' : 'open';
}

/** What one replication says of a share: samples in all, and those above the limit. */
export interface Above {
  readonly samples: number;
  /** Above the limit, whatever is still to come. */
  readonly surely: number;
  /** With all that had not come back taken as above. */
  readonly atWorst: number;
}

/**
 * Is the share of samples above a limit at most `allowed`? By d_r = above_r − allowed · n_r, as for percentiles (Woodruff,
 * J. Amer. Statist. Assoc. 47, 1952, replications as clusters), one-sided: inside where Σ d_r + t(R−1, .95) · s ≤ 0.
 *
 * s is √R times the deviation of d_r over replications, but never less than the deviation that independent samples would
 * have at the limit, √(allowed (1 − allowed) Σ n_r). Bursts of one run depend on each other, so that s is seldom less;
 * without that floor, a few samples of which none is above would pass for proof.
 */
export function shareAgainst(parts: readonly Above[], allowed: number): Side {
  const all = sumOf(parts.map(({ samples }) => samples));
  const test = (above: readonly number[]): { sum: number; half: number } => {
    const residuals = parts.map(({ samples }, r) => above[r]! - allowed * samples);
    const spread = Math.sqrt(parts.length) * deviationOf(residuals);
    const floor = Math.sqrt(allowed * (1 - allowed) * all);
    return { sum: sumOf(residuals), half: quantile(parts.length) * Math.max(spread, floor) };
  };
  const worst = test(parts.map(({ atWorst }) => atWorst));
  if (worst.sum + worst.half <= 0) return 'inside';
  const best = test(parts.map(({ surely }) => surely));
  return best.sum - best.half > 0 ? 'outside' : 'open';
}

/**
 * Of replications of which none had a miss: the largest share of such replications that may have one, at 95 %. The
 * replication is what is independent, so the number of samples does not enter.
 */
export function noneBound(replications: number): number {
  return 1 - (1 - CONFIDENCE) ** (1 / replications);
}

const quantile = (replications: number): number => studentQuantile(CONFIDENCE, replications - 1);

const sumOf = (series: readonly number[]): number => series.reduce((sum, x) => sum + x, 0);
