import { type Difference, type Pairs, type Unjudged, differenceOf } from '../measure/difference.js';
import { overloadedPaths } from '../measure/overload.js';
import { uses } from '../measure/path-facts.js';
import type { ReplicationResult } from '../measure/results.js';
import type { ComparisonRow, ComparisonVerdict } from '../measure/tables/rows.js';
import type { MetricSpec, SystemSpec } from '../scenario/scenario.js';
import { Alone, type Crew, jobsOf, keptOf } from './crew.js';
import { lean } from './lean.js';
import { warmUpOf } from './warm-up.js';

/** Replications after which the data are looked at, and no others: each look is a chance to err. */
export const LOOKS = [10, 20, 40, 80] as const;
/** All verdicts of a comparison together are wrong at most so often. */
export const ERROR = 0.05;
/** A metric of which no difference is shown is settled once its interval is at most so wide to either side, of its value. */
export const NARROW = 0.05;

/**
 * A verdict that a path is overloaded can be wrong too. So of a latency metric's error at a look each of its tests of
 * overload, at most four (reads and writes of two systems), gets a twentieth, and the difference what is left.
 */
const OVERLOAD_PART = 1 / 20;
const MOST_OVERLOAD_TESTS = 4;

/** One of the two systems that are compared. */
export interface Side {
  /** How results name it. */
  readonly label: string;
  readonly system: SystemSpec;
}

export interface CompareOptions {
  /** Name of the scenario, for the rows. */
  readonly scenario: string;
  readonly seed?: string;
  /** Told now and then how much of the work up to the next look is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  /** Who simulates; this thread where nobody is named. */
  readonly crew?: Crew;
  /** Instead of those of `metricsOf`. */
  readonly metrics?: readonly MetricSpec[];
  /** All verdicts together are wrong at most so often, instead of `ERROR`. */
  readonly error?: number;
  /** Go on while no difference is shown, even where it must be small. */
  readonly toTheLast?: boolean;
}

/** A finished comparison. */
export interface Comparison {
  readonly scenario: string;
  readonly seed: string;
  readonly baseline: string;
  readonly variant: string;
  /** Of each system, at the last look. */
  readonly replications: number;
  /** The user wanted no more: more looks would have followed. */
  readonly stopped: boolean;
  readonly windowPs: number;
  /** Null when it was found not to settle. */
  readonly warmupPs: number | null;
  readonly rows: readonly ComparisonRow[];
}

/**
 * Compares two systems by replications in pairs: the same seed gives both the same draws. The variant is run as the
 * baseline is (window, drain), with the warm-up common to both.
 *
 * Looks after 10, 20, 40 and 80 replications, each at level 0.05 / (4 K) for K metrics with their tests of overload, so
 * that by Bonferroni's inequality any verdict at all is wrong with a probability of at most 5 %, however soon the looking
 * ends. It ends when every metric shows a difference, is known narrowly enough (`NARROW`), or cannot be judged by more
 * replications. Where the user stops it, what the last look said stands; before the first it fails with `Stopped`.
 */
export async function compareSystems(baseline: Side, variant: Side, options: CompareOptions): Promise<Comparison> {
  const sides = [baseline, variant].map(({ label, system }) => ({
    label,
    system: { ...lean(system, baseline.system.run), budgets: [] },
  }));
  const [first, second] = [sides[0]!, sides[1]!];
  const seed = options.seed ?? baseline.system.run.seed;
  const metrics = options.metrics ?? metricsOf(baseline.system, variant.system);
  const crew = options.crew ?? new Alone();
  const warmUp = await warmUpOf([first.system, second.system], seed, (pilots) => crew.settle(pilots));
  const run = { seed, replications: LOOKS.at(-1)!, warmupPs: warmUp.warmupPs };
  const results: [ReplicationResult[], ReplicationResult[]] = [[], []];
  let rows: ComparisonRow[] = [];
  let stopped = false;
  for (const look of LOOKS) {
    const done = results[0].length;
    const jobs = sides.flatMap(({ system }) => jobsOf({ system, ...run }, done + 1, look));
    const fresh = await keptOf(crew.run(jobs, (share) => options.onProgress?.((done + share * (look - done)) / look)));
    if (fresh.stop !== null) {
      if (done === 0) throw fresh.stop;
      stopped = true;
      break;
    }
    results[0].push(...fresh.results.slice(0, look - done));
    results[1].push(...fresh.results.slice(look - done));
    const pairs = { baseline: results[0], variant: results[1] };
    const error = (options.error ?? ERROR) / (LOOKS.length * metrics.length);
    rows = metrics.map((metric) => ({
      scenario: options.scenario,
      placement: second.label,
      replication: 'all',
      metric,
      baseline: first.label,
      variant: second.label,
      ...judge(metric, pairs, [first.label, second.label], error),
    }));
    if (rows.every((row) => (options.toTheLast === true ? isDecided(row) : isSettled(row)))) break;
  }
  return {
    scenario: options.scenario,
    seed,
    baseline: first.label,
    variant: second.label,
    replications: results[0].length,
    stopped,
    windowPs: results[0][0]!.windowPs,
    warmupPs: warmUp.settled ? warmUp.warmupPs : null,
    rows,
  };
}

/** The metrics that the baseline's file asks for, or those of every path and task that both have. */
export function metricsOf(baseline: SystemSpec, variant: SystemSpec): readonly MetricSpec[] {
  if (baseline.metrics.length > 0) return baseline.metrics;
  const others = new Set(pathsOf(variant).map(({ master, operation }) => `${master} ${operation}`));
  return pathsOf(baseline)
    .filter(({ master, operation }) => others.has(`${master} ${operation}`))
    .flatMap((path): MetricSpec[] => [
      { name: 'mean', kind: 'latency', ...path, level: 'burst', percentile: null },
      { name: 'p99', kind: 'latency', ...path, level: 'burst', percentile: 0.99 },
      { name: 'bandwidth', kind: 'bandwidth', ...path, element: null },
    ])
    .concat(tasksOf(baseline, variant));
}

/** Of tasks, mean and p99 of those that both have. */
function tasksOf(baseline: SystemSpec, variant: SystemSpec): MetricSpec[] {
  const both = baseline.tasks.filter(({ name }) => variant.tasks.some((task) => task.name === name));
  return both.flatMap(({ name: task }): MetricSpec[] => [
    { name: 'mean', kind: 'task', task, level: 'task', percentile: null },
    { name: 'p99', kind: 'task', task, level: 'task', percentile: 0.99 },
  ]);
}

function pathsOf({ masters }: SystemSpec): { master: string; operation: 'read' | 'write' }[] {
  return masters.flatMap((master) => {
    const { reads, writes } = uses(master);
    const operations = [...(reads ? (['read'] as const) : []), ...(writes ? (['write'] as const) : [])];
    return operations.map((operation) => ({ master: master.name, operation }));
  });
}

type Judged = Omit<ComparisonRow, 'scenario' | 'placement' | 'replication' | 'metric' | 'baseline' | 'variant'>;

function judge(metric: MetricSpec, pairs: Pairs, labels: readonly string[], error: number): Judged {
  if (metric.kind === 'latency') {
    // asked for each path at each look: at the usual 1 % a false alarm would be the rule
    const overloadedIn = [pairs.baseline, pairs.variant].flatMap((replications, place) =>
      overloadedPaths(replications, metric, 1 - OVERLOAD_PART * error).length > 0 ? [labels[place]!] : [],
    );
    if (overloadedIn.length > 0) return { ...empty('overloaded'), overloadedIn };
  }
  const left = metric.kind === 'latency' ? 1 - MOST_OVERLOAD_TESTS * OVERLOAD_PART : 1;
  const found = differenceOf(metric, pairs, left * error);
  if (typeof found === 'string') return empty(found);
  const { baseline, variant, difference, half } = found;
  return {
    baselineValue: baseline,
    variantValue: variant,
    difference,
    low: difference - half,
    high: difference + half,
    verdict: verdictOf(metric, found),
    overloadedIn: [],
  };
}

const empty = (verdict: Unjudged | 'overloaded'): Judged => ({
  baselineValue: null,
  variantValue: null,
  difference: null,
  low: null,
  high: null,
  verdict,
  overloadedIn: [],
});

/** Less latency and less utilisation are better, and more bandwidth. */
function verdictOf({ kind }: MetricSpec, { difference, half }: Difference): ComparisonVerdict {
  if (Math.abs(difference) <= half) return 'no_difference_shown';
  return difference > 0 === (kind === 'bandwidth') ? 'variant_better' : 'baseline_better';
}

const isDecided = ({ verdict }: ComparisonRow): boolean => verdict !== 'no_difference_shown';

function isSettled(row: ComparisonRow): boolean {
  const { baselineValue, variantValue, low, high } = row;
  if (isDecided(row)) return true;
  const size = Math.max(Math.abs(baselineValue!), Math.abs(variantValue!));
  return (high! - low!) / 2 <= NARROW * size;
}
