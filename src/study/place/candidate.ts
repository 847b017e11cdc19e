import { pooledRow } from '../../measure/budgets.js';
import { type Series, seriesOf, type Unjudged } from '../../measure/difference.js';
import { overloadedPaths } from '../../measure/overload.js';
import type { ReplicationResult } from '../../measure/results.js';
import type { BudgetRow } from '../../measure/tables/rows.js';
import type { MetricSpec, SystemSpec } from '../../scenario/scenario.js';
import type { AssignmentClass } from './assignments.js';
import type { Standing } from './halving.js';
import type { Fitness } from './kim-nelson.js';

/** A class of assignments that is simulated, with the replications 1 to n that it has so far. */
export interface Candidate extends AssignmentClass {
  readonly system: SystemSpec;
  readonly results: ReplicationResult[];
}

/** Why a goal has no value. */
export type NoValue = Unjudged | 'overloaded';

/** How sure a path is called overloaded: it is asked of many assignments, so the usual 1 % would be too loose. */
const OVERLOAD_CONFIDENCE = 0.999;

/** The goal over some replications, turned so that less is better. */
export function costOf(goal: MetricSpec, results: readonly ReplicationResult[]): Series | NoValue {
  if (goal.kind === 'latency' && overloadedPaths(results, goal, OVERLOAD_CONFIDENCE).length > 0) return 'overloaded';
  const series = seriesOf(goal, results);
  if (typeof series === 'string' || goal.kind !== 'bandwidth') return series;
  return { ...series, whole: -series.whole, each: series.each.map((value) => -value) };
}

/** The pooled rows of its budgets, over all replications that it has. */
export function budgetsOf({ system, results }: Candidate): BudgetRow[] {
  return system.budgets.map((budget) => pooledRow(budget, results, { scenario: '', placement: system.placement }));
}

/** Whether its budgets let it be the best, by their own rule; that no miss was seen where none is allowed is no hindrance. */
export function fitnessOf(rows: readonly BudgetRow[]): Fitness {
  if (rows.some(({ verdict }) => verdict === 'missed')) return 'out';
  return rows.some(({ verdict }) => verdict === 'undecided') ? 'open' : 'fit';
}

/** How it stands after a round: what it measured, without asking whether that is sure. */
export function standingOf(goal: MetricSpec, candidate: Candidate): Standing {
  const cost = costOf(goal, candidate.results);
  const excess = budgetsOf(candidate).reduce((sum, { marginShare }) => sum + Math.max(0, -(marginShare ?? 0)), 0);
  return { excess, cost: typeof cost === 'string' ? Infinity : cost.whole };
}
