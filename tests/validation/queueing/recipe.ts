/**
 * How a simulated number is held against a published one: independent replications of which a warm-up is dropped, Student's
 * t over them, and one error rate for the whole suite. Bursts of one run depend on each other, so nothing is ever divided
 * by the root of their number.
 */
import { studentQuantile } from '../../../src/measure/statistics/student.js';

/** Replications of whatever chance has a part in. */
export const REPLICATIONS = 40;

/** Chance that any comparison of the whole suite fails although the model is right. */
export const SUITE_ERROR = 0.01;

/** Most comparisons that the suite may make; the error rate is shared out evenly among these (Bonferroni). */
export const MOST_COMPARISONS = 2400;

/** Half an interval is this many standard errors: 5.35. */
export const T = studentQuantile(1 - SUITE_ERROR / MOST_COMPARISONS / 2, REPLICATIONS - 1);

/** What one replication has to say of a mean or a share: a sum and what it is to be divided by. */
export interface Ratio {
  readonly sum: number;
  readonly count: number;
}

export interface Estimate {
  readonly value: number;
  /** Half the interval that holds the true value, but for the suite's error rate. */
  readonly half: number;
}

/**
 * Ratio of the sums over all replications, with an interval from d = sum − value × count of each (Cochran 1977, Sampling
 * Techniques, ch. 6): right for replications of unequal length too. One replication has no interval.
 */
export function estimate(runs: readonly Ratio[]): Estimate {
  const total = (key: 'sum' | 'count') => runs.reduce((sum, run) => sum + run[key], 0);
  const value = total('sum') / total('count');
  if (runs.length === 1) return { value, half: 0 };
  const squares = runs.reduce((sum, run) => sum + (run.sum - value * run.count) ** 2, 0);
  const deviation = Math.sqrt(squares / (runs.length - 1));
  return { value, half: (T * deviation * Math.sqrt(runs.length)) / total('count') };
}

/** Relative asymptotic variance of the M/M/1 mean wait: what one request is worth (Daley 1968). */
const waitVariance = (load: number) => (2 + 5 * load - 4 * load ** 2 + load ** 3) / (load * (1 - load) ** 2);

/** How uneven arrivals and services are: squared deviation over squared mean; for arrivals in bursts their dispersion. */
export interface Traffic {
  readonly load: number;
  readonly arrivals: number;
  readonly services: number;
}

/**
 * Half interval of the mean wait, as a share of it: a run is made long enough for the first, unless that takes more than so
 * many requests; then for the second, up to a last limit.
 */
const NARROW = { half: 0.0385, most: 3_300_000 };
const WIDE = { half: 0.08, most: 10_000_000 };
const FEWEST = 300_000;

/**
 * Requests of all replications together, at most `most`. Near saturation the variance goes with the sum of both unevennesses
 * (Whitt 1989); it is that of M/M/1 otherwise.
 */
export function requestsFor({ load, arrivals, services }: Traffic, most = WIDE.most): number {
  const variance = ((arrivals + services) / 2) * waitVariance(load);
  const [narrow, wide] = [NARROW, WIDE].map(({ half, most: limit }) => Math.min((T / half) ** 2 * variance, limit));
  return Math.min(Math.max(narrow!, wide!, FEWEST), most);
}

/** Mean services before the measuring window: a run starts empty. */
export function warmUpServices({ load, arrivals, services }: Traffic): number {
  return (20 / (1 - load) ** 2) * Math.max(1, (arrivals + services) / 2);
}
