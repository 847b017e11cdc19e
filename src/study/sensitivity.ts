import { budgetRows } from '../measure/budgets.js';
import { resourceRows } from '../measure/tables/counter-rows.js';
import { differenceOf, type Pairs } from '../measure/difference.js';
import { overloadedPaths } from '../measure/overload.js';
import type { ReplicationResult } from '../measure/results.js';
import { isOfTime } from '../measure/subject.js';
import type { BudgetRow, ResourceRow, SensitivityRow } from '../measure/tables/rows.js';
import type { BudgetSpec, MetricSpec, Scenario, SystemSpec } from '../scenario/scenario.js';
import { Alone, type Crew, jobsOf } from './crew.js';
import { withFaster, withOwnClock } from './faster.js';
import { lean } from './lean.js';
import { choiceOf, type StudyChoice } from './run-study.js';
import { warmUpOf } from './warm-up.js';

/** Elements of each placement that are made faster, one at a time. */
const BUSIEST = 5;
/** All verdicts together are wrong at most so often. */
const ERROR = 0.05;
/** Fewer replications show no spread. */
const LEAST_REPLICATIONS = 2;

export interface SensitivityOptions extends Omit<StudyChoice, 'version'> {
  /** The budget to follow; without it that of each placement with the smallest margin. */
  readonly budget?: string;
  /** Told now and then how much of the work is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  /** Who simulates; this thread where nobody is named. */
  readonly crew?: Crew;
}

/** A finished study of what limits the worst budget of each placement. */
export interface Sensitivity {
  readonly scenario: string;
  readonly seed: string;
  readonly replications: number;
  readonly windowPs: number;
  /** Null when it was found not to settle. */
  readonly warmupPs: number | null;
  /** By placement: the budget that is followed, as it stands; null where there is none to follow. */
  readonly budgets: readonly { readonly placement: string; readonly worst: BudgetRow | null }[];
  /** By placement, the busiest element first. */
  readonly rows: readonly SensitivityRow[];
}

/** A placement as it stands. */
interface Baseline {
  readonly system: SystemSpec;
  readonly results: readonly ReplicationResult[];
  readonly worst: BudgetRow;
  readonly busiest: readonly ResourceRow[];
}

/**
 * For each of the five busiest elements of each placement: what becomes of the budget with the smallest margin when that
 * element alone is a tenth faster, on the same draws and over the same window. Where the element shares its clock, the change is
 * against the same element at its old speed on a clock of its own. All intervals hold together (Bonferroni).
 */
export async function sensitivityOf(scenario: Scenario, options: SensitivityOptions): Promise<Sensitivity> {
  const { crew = new Alone(), onProgress } = options;
  const { systems: whole, seed } = choiceOf(scenario, { ...options, version: '' });
  const systems = whole.map((system) => lean(system));
  const replications = Math.max(LEAST_REPLICATIONS, options.replications ?? systems[0]!.run.replications);
  const warmUp = await warmUpOf(systems, seed, (pilots) => crew.settle(pilots));
  const run = async (of: readonly SystemSpec[], told: (share: number) => void): Promise<ReplicationResult[][]> => {
    const jobs = of.flatMap((system) => jobsOf({ system, seed, replications, warmupPs: warmUp.warmupPs }));
    const results = await crew.run(jobs, told);
    return of.map((_, place) => results.slice(place * replications, (place + 1) * replications));
  };
  // at most two more of each system for each of its elements
  const first = 1 / (1 + 2 * BUSIEST);
  const plain = await run(systems, (share) => onProgress?.(share * first));
  const found = systems.map((system, place) => baselineOf(scenario.name, system, plain[place]!, options.budget));
  const baselines = found.filter((one): one is Baseline => one.worst !== null);
  const asked = baselines.flatMap((baseline) => baseline.busiest.map((element) => ({ baseline, element })));
  const fasters = asked.map(({ baseline, element }) => withFaster(baseline.system, element.element));
  const references = asked.map(({ baseline, element }) => withOwnClock(baseline.system, element.element));
  const others = references.filter((system, place) => system !== asked[place]!.baseline.system);
  const fresh = await run([...fasters, ...others], (share) => onProgress?.(first + share * (1 - first)));
  const pairOf = (place: number): Pairs => {
    const reference = others.indexOf(references[place]!);
    const { results } = asked[place]!.baseline;
    return { baseline: reference < 0 ? results : fresh[fasters.length + reference]!, variant: fresh[place]! };
  };
  const error = ERROR / Math.max(1, asked.length);
  return {
    scenario: scenario.name,
    seed,
    replications,
    windowPs: plain[0]![0]!.windowPs,
    warmupPs: warmUp.settled ? warmUp.warmupPs : null,
    budgets: found.map(({ system, worst }) => ({ placement: system.placement, worst })),
    rows: asked.map(({ baseline, element }, place) => rowOf(baseline, element, pairOf(place), error)),
  };
}

function baselineOf(
  scenario: string,
  system: SystemSpec,
  results: readonly ReplicationResult[],
  followed: string | undefined,
): Omit<Baseline, 'worst'> & { worst: BudgetRow | null } {
  const { placement, budgets } = system;
  const base = { scenario, placement };
  const names = new Set(system.elements.map(({ name }) => name));
  const busiest = resourceRows(results, base)
    // the way past the tags of a coherence unit is on its clock
    .map((row) => ({ ...row, element: row.element.replace(/ bypass$/, '') }))
    .filter(({ replication, element, grants }) => replication === 'all' && names.has(element) && grants > 0)
    .toSorted((a, b) => (b.utilisation ?? 0) - (a.utilisation ?? 0))
    .filter(({ element }, place, all) => all.findIndex((row) => row.element === element) === place)
    .slice(0, BUSIEST);
  const worst = budgetRows({ placement, budgets, replications: [...results] }, results, base)
    .filter(({ replication, spec }) => replication === 'all' && metricOf(spec) !== null)
    .filter(({ budget, marginShare }) => marginShare !== null && (followed ?? budget) === budget)
    .toSorted((a, b) => a.marginShare! - b.marginShare!);
  return { system, results, busiest, worst: worst[0] ?? null };
}

/** What a budget is about; null where no miss is allowed: the largest of some samples is no measure of anything. */
function metricOf(budget: BudgetSpec): MetricSpec | null {
  if (isOfTime(budget) && budget.percentile === 1) return null;
  return budget;
}

function rowOf(
  { system, results, worst }: Baseline,
  { element, kind, utilisation }: ResourceRow,
  pairs: Pairs,
  error: number,
): SensitivityRow {
  const { spec, limit, level } = worst;
  const start = {
    scenario: worst.scenario,
    placement: system.placement,
    replication: 'all' as const,
    element,
    kind,
    utilisation,
    spec,
    level,
    limit,
  };
  const empty = { now: null, faster: null, change: null, low: null, high: null };
  const grows =
    spec.kind === 'latency' &&
    [results, pairs.baseline, pairs.variant].some((one) => overloadedPaths(one, spec, 1 - error).length > 0);
  if (grows) return { ...start, ...empty, verdict: 'overloaded' };
  const metric = metricOf(spec)!;
  const found = differenceOf(metric, pairs, error);
  const plain = differenceOf(metric, { baseline: results, variant: results }, error);
  if (typeof found === 'string') return { ...start, ...empty, verdict: found };
  if (typeof plain === 'string') return { ...start, ...empty, verdict: plain };
  const { difference, half } = found;
  const now = plain.baseline;
  const helps = difference > 0 === (spec.kind === 'bandwidth');
  return {
    ...start,
    now,
    faster: now + difference,
    change: difference,
    low: difference - half,
    high: difference + half,
    verdict: Math.abs(difference) <= half ? 'no_change_shown' : helps ? 'better' : 'worse',
  };
}
