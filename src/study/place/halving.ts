/**
 * Sequential halving (Karnin, Koren and Somekh, Almost optimal exploration in multi-armed bandits, ICML 2013, from memory):
 * rounds of equal cost, in each of which all that are left get equally many replications and the worse half goes. Unlike
 * there it stops at a few instead of one, and a round looks at all replications so far: they are the same numbers for all
 * that are left, so the same draws.
 */

/** One round. */
export interface Round {
  /** How many are looked at, at most. */
  readonly contestants: number;
  /** New replications of each. */
  readonly replications: number;
  /** How many stay, at most. */
  readonly keep: number;
}

/** A budget is judged over two replications at least, and hardly ever found missed by two. */
const LEAST_FIRST = 3;

/** The rounds that bring so many down to `target`, within a budget of replications as far as the least counts allow. */
export function halvingRounds(contestants: number, target: number, budget: number): Round[] {
  const sizes: number[] = [];
  for (let left = contestants; left > target; left = half(left, target)) sizes.push(left);
  return sizes.map((size, round) => ({
    contestants: size,
    replications: Math.max(round === 0 ? LEAST_FIRST : 1, Math.floor(budget / (sizes.length * size))),
    keep: half(size, target),
  }));
}

const half = (size: number, target: number): number => Math.max(target, Math.ceil(size / 2));

/** Replications that rounds take at most. */
export const costOf = (rounds: readonly Round[]): number =>
  rounds.reduce((sum, { contestants, replications }) => sum + contestants * replications, 0);

/** How a contestant stands after a round. */
export interface Standing {
  /** By how much of their limits budgets are passed, as measured; 0: all are kept. */
  readonly excess: number;
  /** The goal, less is better; Infinity where it has no value. */
  readonly cost: number;
}

/** The contestants that stay, in their order: those that keep their budgets first, then by the goal. */
export function staying<T>(contestants: readonly T[], standing: (one: T) => Standing, keep: number): T[] {
  const best = ranked(contestants, standing).slice(0, keep);
  return contestants.filter((one) => best.includes(one));
}

/** The contestants, the best first; equal ones in their order. */
export function ranked<T>(contestants: readonly T[], standing: (one: T) => Standing): T[] {
  const stands = new Map(contestants.map((one) => [one, standing(one)]));
  return contestants.toSorted((a, b) => inOrder(stands.get(a)!, stands.get(b)!));
}

/** Infinity less Infinity is no number. */
function inOrder(a: Standing, b: Standing): number {
  if (a.excess !== b.excess) return a.excess - b.excess;
  return a.cost === b.cost ? 0 : a.cost - b.cost;
}
