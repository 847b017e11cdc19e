/**
 * The fully sequential procedure of Kim and Nelson (A fully sequential procedure for indifference-zone selection in
 * simulation, ACM Trans. Model. Comput. Simul. 11(3), 2001, from memory): of k systems it picks the best with a probability
 * of at least 1 − α, if the best is better than every other by δ or more. Variances may differ, and replications may share
 * their draws.
 *
 * Its form with c = 1: after a first stage of n₀ observations, S²ᵢₗ is the variance of the differences of i and l and
 *
 *     η = ½ ((2α / (k − 1))^(−2 / (n₀ − 1)) − 1),   h² = 2 η (n₀ − 1),
 *     Wᵢₗ(r) = max(0, δ/2 · (h² S²ᵢₗ / δ² − r)).
 *
 * After r observations i leaves where its sum passes that of some l by more than Wᵢₗ(r) (less is better here). α / (k − 1)
 * is Bonferroni's share of the error, as it must be for draws in common; for independent ones the paper allows a little more.
 */
import type { Series } from '../../measure/difference.js';

/** May a contestant beat others? `open`: it is not known yet, so that it beats nobody. */
export type Fitness = 'fit' | 'open' | 'out';

/** Those who take part, by number, and what may be asked of them. */
export interface Contest {
  /** Brings all named to so many observations; false where that would go beyond what may be spent. */
  grow(contestants: readonly number[], count: number): Promise<boolean>;
  /** The goal over that many observations, less is better; null where it has no value. */
  series(contestant: number, count: number): Pick<Series, 'whole' | 'each'> | null;
  fitness(contestant: number): Fitness;
}

export interface KimNelsonSettings {
  /** α: the pick is wrong at most so often. */
  readonly error: number;
  /** δ, as a share of the best goal after the first stage. */
  readonly zone: number;
  /** n₀ */
  readonly first: number;
}

/** Those who are left, and after how many observations. */
export interface Outcome {
  readonly left: readonly number[];
  readonly observations: number;
}

/** h² of k contestants; k from 2 on. */
export function hSquared(k: number, first: number, error: number): number {
  const eta = ((2 * error) / (k - 1)) ** (-2 / (first - 1)) / 2 - 1 / 2;
  return 2 * eta * (first - 1);
}

/** By how much sums may differ before the larger one leaves. Systems whose differences do not vary need no zone. */
export function boundary(h2: number, variance: number, delta: number, observations: number): number {
  if (variance === 0) return 0;
  return Math.max(0, ((h2 * variance) / delta - delta * observations) / 2);
}

/** Runs the contest until one is left, none can be told apart any more, or nothing more may be spent. */
export async function kimNelson(
  contestants: readonly number[],
  contest: Contest,
  { error, zone, first }: KimNelsonSettings,
): Promise<Outcome> {
  if (!(await contest.grow(contestants, first))) return { left: contestants, observations: 0 };
  const fitness = new Map(contestants.map((one) => [one, contest.fitness(one)]));
  let left = contestants.filter((one) => fitness.get(one) !== 'out');
  const wholes = left.flatMap((one) => contest.series(one, first)?.whole ?? []);
  if (wholes.length === 0) return { left, observations: first };
  const delta = zone * Math.abs(Math.min(...wholes));
  const h2 = left.length < 2 ? 0 : hSquared(left.length, first, error);
  const limit = new Map(
    left.map((one) => [one, new Map(left.map((other) => [other, variance(contest, one, other, first)]))]),
  );
  for (let r = first, look = first; ; r++) {
    if (r === 2 * look) {
      look = r;
      for (const one of left) fitness.set(one, contest.fitness(one));
      left = left.filter((one) => fitness.get(one) !== 'out');
    }
    left = screened(left, fitness, contest, r, (one, other) => boundary(h2, limit.get(one)!.get(other)!, delta, r));
    if (isSettled(left, fitness, (one, other) => boundary(h2, limit.get(one)!.get(other)!, delta, r) === 0)) {
      return { left, observations: r };
    }
    if (!(await contest.grow(left, r + 1))) return { left, observations: r };
  }
}

/** Variance of the differences about that of the wholes (see measure/difference.ts); without a value nothing to wait for. */
function variance(contest: Contest, one: number, other: number, count: number): number {
  const [a, b] = [contest.series(one, count), contest.series(other, count)];
  if (a === null || b === null) return 0;
  const centre = a.whole - b.whole;
  return a.each.reduce((sum, value, r) => sum + (value - b.each[r]! - centre) ** 2, 0) / (a.each.length - 1);
}

/** All of those left at once, so that their order has no say. */
function screened(
  left: readonly number[],
  fitness: ReadonlyMap<number, Fitness>,
  contest: Contest,
  r: number,
  margin: (one: number, other: number) => number,
): number[] {
  const goals = new Map(left.map((one) => [one, contest.series(one, r)?.whole ?? Infinity]));
  const beats = (other: number, one: number): boolean =>
    fitness.get(other) === 'fit' && r * (goals.get(one)! - goals.get(other)!) > margin(one, other);
  return left.filter((one) => !left.some((other) => other !== one && beats(other, one)));
}

/** One that is fit, or several whose goals are equal; who is not known to be fit has to go on. */
function isSettled(
  left: readonly number[],
  fitness: ReadonlyMap<number, Fitness>,
  isClosed: (one: number, other: number) => boolean,
): boolean {
  if (left.some((one) => fitness.get(one) !== 'fit')) return left.length === 0;
  return left.every((one) => left.every((other) => other === one || isClosed(one, other)));
}
