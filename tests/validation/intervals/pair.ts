import type { ComparisonRow } from '../../../src/measure/tables/rows.js';
import { compareSystems } from '../../../src/study/compare.js';
import { type Arrivals, queueScenario, truth } from './queue.js';

/** Two queues whose true difference is known. */
export interface Pair {
  readonly name: string;
  readonly loads: readonly [baseline: number, variant: number];
  readonly arrivals: readonly [baseline: Arrivals, variant: Arrivals];
  /** By metric, variant − baseline, in ps. */
  readonly meanPs: number;
  readonly p99Ps: number;
}

const apart = (baseline: number, variant: number): Pick<Pair, 'meanPs' | 'p99Ps'> => ({
  meanPs: truth(variant).meanPs - truth(baseline).meanPs,
  p99Ps: truth(variant).p99Ps - truth(baseline).p99Ps,
});

/** Customers of a replication: few, so that the percentile of each is biased and the looks go on. */
export const PAIR_CUSTOMERS = 5000;

export const PAIRS: readonly Pair[] = [
  {
    // half of the customers come from elsewhere: other draws, and the same time in the system
    name: 'alike',
    loads: [0.8, 0.8],
    arrivals: ['one', 'two'],
    ...apart(0.8, 0.8),
  },
  {
    // the queue is the source's backlog, which rises and falls and does not grow
    name: 'load 0.8 against 0.75',
    loads: [0.8, 0.75],
    arrivals: ['held', 'held'],
    ...apart(0.8, 0.75),
  },
];

/** What one comparison said. */
export interface Compared {
  readonly comparison: number;
  readonly replications: number;
  /** Is any verdict or interval wrong? */
  readonly wrong: boolean;
  /** Did it show every difference that there is? */
  readonly shown: boolean;
}

/** Compares the two queues once; the seed follows from the number, from 1 on. */
export async function runComparison(pair: Pair, comparison: number, customers = PAIR_CUSTOMERS): Promise<Compared> {
  const [baseline, variant] = pair.loads.map((load, side) => ({
    label: side === 0 ? 'baseline' : 'variant',
    system: queueScenario({ load, customers }, pair.arrivals[side]!).systems[0]!,
  }));
  const seed = `pair/${pair.name}/${comparison}`;
  const { replications, rows } = await compareSystems(baseline!, variant!, { scenario: 'pair', seed });
  const truths = [pair.meanPs, pair.p99Ps];
  return {
    comparison,
    replications,
    wrong: rows.some((row, place) => isWrong(row, truths[place]!)),
    shown: rows.every(({ verdict }, place) => truths[place] === 0 || verdict.endsWith('better')),
  };
}

/** These queues are steady and lack no samples: not to judge one is as wrong as to judge it falsely. */
function isWrong({ verdict, low, high }: ComparisonRow, trueDifference: number): boolean {
  if (low === null || high === null) return true;
  const better = trueDifference < 0 ? 'variant_better' : 'baseline_better';
  const verdictHolds = verdict === 'no_difference_shown' || (trueDifference !== 0 && verdict === better);
  return !verdictHolds || low > trueDifference || high < trueDifference;
}
