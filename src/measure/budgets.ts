/**
 * Verdicts on budgets, on the safe side: each is met or missed only where a one-sided bound at 95 % says so.
 *
 * That all budgets are met needs no correction for their number: it is claimed only where each test by itself rejects
 * that its budget is missed, so the claim errs at most as often as one test does (intersection–union; Berger,
 * Technometrics 24, 1982).
 */
import type { BudgetSpec } from '../scenario/scenario.js';
import { percentile } from './statistics/intervals.js';
import { type Above, type Side, meanAgainst, noneBound, shareAgainst } from './statistics/one-sided.js';
import { mergedClusters } from './level-clusters.js';
import type { Level, LevelPlain } from './path-record.js';
import type { PlacementResult, ReplicationResult } from './results.js';
import type { BudgetRow, RowBase } from './tables/rows.js';
import { overloadedPaths } from './overload.js';
import { isOfTime, levelsOf, type OfTime, tasksOf, valuesOf } from './subject.js';

type LatencyBudget = OfTime<BudgetSpec>;
type Judged = Pick<BudgetRow, 'verdict' | 'reason' | 'none'>;

/** The limits that each level of a path must count exactly. */
export function limitsOf(budgets: readonly BudgetSpec[]): ReadonlyMap<Level, number[]> {
  const limits = new Map<Level, number[]>();
  for (const budget of budgets) {
    if (budget.kind !== 'latency') continue;
    limits.set(budget.level, [...(limits.get(budget.level) ?? []), budget.limitPs]);
  }
  return limits;
}

/** The rows of budgets.csv of one placement: for each budget one a replication, then the pooled one with the verdict. */
export function budgetRows(
  { budgets }: PlacementResult,
  replications: readonly ReplicationResult[],
  base: Omit<RowBase, 'replication'>,
): BudgetRow[] {
  return budgets.flatMap((budget) => [
    ...replications.map((one) => ({
      ...rowOf(budget, [one], { ...base, replication: one.replication }),
      ...UNJUDGED,
    })),
    pooledRow(budget, replications, base),
  ]);
}

/** The pooled row of one budget, with its verdict. */
export function pooledRow(
  budget: BudgetSpec,
  replications: readonly ReplicationResult[],
  base: Omit<RowBase, 'replication'>,
): BudgetRow {
  return { ...rowOf(budget, replications, { ...base, replication: 'all' }), ...judge(budget, replications) };
}

/** One replication decides nothing. */
const UNJUDGED: Judged = { verdict: null, reason: null, none: null };

function rowOf(
  budget: BudgetSpec,
  replications: readonly ReplicationResult[],
  base: RowBase,
): Omit<BudgetRow, keyof Judged> {
  const { limit, atLeast } = limitOf(budget);
  const measured = measuredOf(budget, replications);
  const inside = measured === null ? null : atLeast ? measured - limit : limit - measured;
  return {
    ...base,
    budget: budget.name,
    spec: budget,
    level: isOfTime(budget) ? budget.level : null,
    limit,
    measured,
    marginShare: inside === null || limit === 0 ? null : inside / limit,
  };
}

function limitOf(budget: BudgetSpec): { limit: number; atLeast: boolean } {
  switch (budget.kind) {
    case 'latency':
    case 'task':
      return { limit: budget.limitPs, atLeast: false };
    case 'bandwidth':
      return { limit: budget.limitBytesPerS, atLeast: true };
    case 'utilisation':
      return { limit: budget.limitShare, atLeast: false };
  }
}

function measuredOf(budget: BudgetSpec, replications: readonly ReplicationResult[]): number | null {
  if (isOfTime(budget)) return measuredLatency(budget, replications);
  const values = valuesOf(budget, replications);
  return values.reduce((sum, x) => sum + x, 0) / values.length;
}

/** The percentile, read like those of latency.csv; of 100 %, the largest latency seen. */
function measuredLatency(budget: LatencyBudget, replications: readonly ReplicationResult[]): number | null {
  const levels = replications.map((one) => levelsOf(one, budget));
  // a master that a placement has silenced
  if (levels.flat().length === 0) return null;
  const clusters = mergedClusters(budget.name, levels, replications[0]!.windowPs);
  return budget.percentile === 1 ? clusters.pooled.maxPs : percentile(clusters, budget.percentile).value;
}

function judge(budget: BudgetSpec, replications: readonly ReplicationResult[]): Judged {
  if (replications.length < 2) return undecided('one replication shows no spread; run at least 2');
  if (isOfTime(budget)) return judgeLatency(budget, replications);
  const values = valuesOf(budget, replications);
  const { limit, atLeast } = limitOf(budget);
  const side = atLeast
    ? meanAgainst(
        values.map((value) => -value),
        -limit,
      )
    : meanAgainst(values, limit);
  return judged(side);
}

function judgeLatency(budget: LatencyBudget, replications: readonly ReplicationResult[]): Judged {
  const parts = replications.map((one) => withDropped(budget, one, aboveOf(budget, levelsOf(one, budget))));
  const total = (key: keyof Above): number => parts.reduce((sum, part) => sum + part[key], 0);
  if (total('samples') === 0) return undecided('nothing was wanted or nothing came back');
  const side = budget.percentile === 1 ? anyMiss(total) : shareAgainst(parts, 1 - budget.percentile);
  const overloaded = budget.kind === 'latency' && overloadedPaths(replications, budget).length > 0;
  if (overloaded && side !== 'outside') return undecided('the path is overloaded: its latency grows with the run');
  if (budget.percentile < 1 || side !== 'inside') return judged(side);
  // what was never seen may still happen: this is as much as can be said
  return { verdict: 'none', reason: null, none: { samples: total('samples'), share: noneBound(parts.length) } };
}

/** What a task dropped has not kept the limit. */
function withDropped(budget: LatencyBudget, replication: ReplicationResult, above: Above): Above {
  if (budget.kind === 'latency') return above;
  const dropped = tasksOf(replication, budget).reduce((sum, task) => sum + task.dropped, 0);
  return { samples: above.samples + dropped, surely: above.surely + dropped, atWorst: above.atWorst + dropped };
}

function anyMiss(total: (key: keyof Above) => number): Side {
  if (total('surely') > 0) return 'outside';
  return total('atWorst') > 0 ? 'open' : 'inside';
}

/** Unfinished samples may end above the limit, and surely do once the youngest of them is older than it. */
function aboveOf({ limitPs }: LatencyBudget, levels: readonly LevelPlain[]): Above {
  let samples = 0;
  let surely = 0;
  let atWorst = 0;
  for (const { histogram, unfinished, youngestUnfinishedPs } of levels) {
    const above = histogram.count - exactlyWithin(histogram, limitPs);
    samples += histogram.count + unfinished;
    atWorst += above + unfinished;
    surely += above + ((youngestUnfinishedPs ?? 0) > limitPs ? unfinished : 0);
  }
  return { samples, surely, atWorst };
}

function exactlyWithin({ name, limits, within }: LevelPlain['histogram'], limitPs: number): number {
  const place = limits.indexOf(limitPs);
  if (place < 0) throw new Error(`histogram ${name} did not count the limit of ${limitPs} ps`);
  return within[place]!;
}

function judged(side: Side): Judged {
  if (side === 'open') return undecided('the bounds lie on both sides of the limit; run more replications');
  return { verdict: side === 'inside' ? 'met' : 'missed', reason: null, none: null };
}

const undecided = (reason: string): Judged => ({ verdict: 'undecided', reason, none: null });
