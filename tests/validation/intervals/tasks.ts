import { type Compared, PAIRS, runComparison } from './pair.js';
import { runIntervalStudy, type Said } from './study.js';

/** One piece of the work: a study, or a comparison of one of the pairs. */
export type Task = { readonly kind: 'study'; readonly number: number } | PairTask;

interface PairTask {
  readonly kind: 'pair';
  readonly pair: string;
  readonly number: number;
}

/** What came of it, as plain data. */
export type Outcome =
  { readonly task: Task; readonly said: Said } | { readonly task: Task; readonly compared: Compared };

/** How much there is of either, and between which shares of the studies the intervals must hold the truth. */
export interface Extent {
  readonly studies: number;
  readonly comparisons: number;
  readonly mean: Limits;
  readonly p99: Limits;
}

export type Limits = readonly [atLeast: number, atMost: number];

/**
 * Chance moves a share of 0.95 by 0.005 (one deviation) with 2,000 studies. With 400 it moves one of 0.95 by 0.011 and one
 * of 0.9 by 0.015, so that the quick limits lie further out, those of p99 by two of these. (Woodruff's interval misses a
 * skewed percentile more often below than above; a plain Lindley recursion with exact order statistics holds 0.92 to 0.93
 * there, too.)
 */
export const FULL: Extent = { studies: 2000, comparisons: 100, mean: [0.93, 0.97], p99: [0.9, 0.98] };
export const QUICK: Extent = { studies: 400, comparisons: 50, mean: [0.92, 0.98], p99: [0.87, 0.99] };

/** In the order in which they are done. */
export function tasksOf({ studies, comparisons }: Extent): Task[] {
  const numbers = (count: number): number[] => Array.from({ length: count }, (_, before) => before + 1);
  return [
    ...numbers(studies).map((number): Task => ({ kind: 'study', number })),
    ...PAIRS.flatMap(({ name }) => numbers(comparisons).map((number): Task => ({ kind: 'pair', pair: name, number }))),
  ];
}

export async function perform(task: Task): Promise<Outcome> {
  if (task.kind === 'study') return { task, said: runIntervalStudy(task.number) };
  const pair = PAIRS.find(({ name }) => name === task.pair)!;
  return { task, compared: await runComparison(pair, task.number) };
}

/** Names a task in the file that keeps what is done. */
export const nameOf = (task: Task): string => [task.kind, task.kind === 'pair' ? task.pair : '', task.number].join('/');
