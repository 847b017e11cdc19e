import { poolStudy } from '../../../src/measure/tables/pool.js';
import type { LatencyRow } from '../../../src/measure/tables/rows.js';
import { studyNow } from '../../study/study-now.js';
import { queueScenario, truth } from './queue.js';

/** The load of every study, as the promise has it. */
export const LOAD = 0.8;
export const REPLICATIONS = 10;
export const CUSTOMERS = 20_000;

/** What one study says: the ends of its intervals as latency.csv has them, in ps; null where a cell is empty. */
export interface Said {
  /** From 1; its seed follows from it. */
  readonly study: number;
  readonly mean: Ends;
  readonly p99: Ends;
}

export type Ends = readonly [lowPs: number, highPs: number] | null;

/** Runs the study of that number: the whole way from a scenario to the rows of latency.csv. */
export function runIntervalStudy(study: number, customers = CUSTOMERS): Said {
  const scenario = queueScenario({ load: LOAD, customers }, 'one');
  const choice = { placements: [], seed: `intervals/${study}`, replications: REPLICATIONS, version: 'intervals' };
  const { latency } = poolStudy(studyNow(scenario, choice));
  const row = latency.find(({ replication, level }) => replication === 'all' && level === 'burst')!;
  return { study, mean: ends(row.meanLowPs, row.meanHighPs), p99: ends(row.p99LowPs, row.p99HighPs) };
}

function ends(low: LatencyRow['meanLowPs'], high: LatencyRow['meanHighPs']): Ends {
  return typeof low === 'number' && typeof high === 'number' ? [low, high] : null;
}

/** Does the interval hold the true value? An empty cell does not. */
export function holds(said: Said, what: 'mean' | 'p99'): boolean {
  const interval = said[what];
  const { meanPs, p99Ps } = truth(LOAD);
  const value = what === 'mean' ? meanPs : p99Ps;
  return interval !== null && interval[0] <= value && value <= interval[1];
}
