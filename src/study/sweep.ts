import { estimateOf } from '../measure/estimate.js';
import type { ReplicationResult } from '../measure/results.js';
import type { SweepRow } from '../measure/tables/rows.js';
import type { Scenario, SystemSpec } from '../scenario/scenario.js';
import { metricsOf } from './compare.js';
import { type Crew, type Job, jobsOf, keptOf, Stopped } from './crew.js';
import { identityOf, type Store } from './identity.js';
import { chosen } from './chosen.js';
import { lean } from './lean.js';
import { warmUpOf } from './warm-up.js';

/** One point of a sweep: the values of the swept keys, and the scenario as read with them. */
export interface SweepPoint {
  readonly keys: readonly string[];
  readonly scenario: Scenario;
}

export interface SweepOptions {
  /** Placements to run; empty: all. */
  readonly placements: readonly string[];
  readonly seed?: string;
  readonly replications?: number;
  readonly version: string;
  readonly crew: Crew;
  /** Points are given to the crew together until there are so many jobs. */
  readonly jobsAtOnce: number;
  /** Finished points of earlier calls. */
  readonly store: Store;
  readonly onProgress?: (share: number) => void;
}

export interface Sweep {
  readonly rows: readonly SweepRow[];
  /** Points of which the rows are, all that were asked for, and those that an earlier call had finished. */
  readonly done: number;
  readonly asked: number;
  readonly recalled: number;
  /** Points whose pilot had not settled. */
  readonly unsettled: number;
}

/** What is kept of a finished point. */
interface Finished {
  readonly rows: readonly SweepRow[];
  readonly settled: boolean;
}

/** A point that has to be simulated. */
interface Open {
  readonly place: number;
  readonly point: SweepPoint;
  readonly systems: readonly SystemSpec[];
  readonly identity: string;
}

/**
 * Runs all placements at all points on the same random draws, each point as `run` would the scenario with its values: with
 * a warm-up of its own, common to its placements. A point is kept as soon as it is finished. Where the user stops it, the
 * rows are those of the points that were finished; with none of them it fails with `Stopped`.
 */
export async function sweepPoints(points: readonly SweepPoint[], options: SweepOptions): Promise<Sweep> {
  const finished: (Finished | null)[] = points.map(() => null);
  const open: Open[] = [];
  for (const [place, point] of points.entries()) {
    const systems = chosen(point.scenario, options.placements).map((system) => ({ ...lean(system), budgets: [] }));
    const identity = identityOf(options.version, systems, {
      kind: 'point',
      keys: point.keys,
      scenario: point.scenario.name,
      seed: options.seed ?? null,
      replications: options.replications ?? null,
    });
    const known = options.store.find(identity) as Finished | undefined;
    if (known === undefined) open.push({ place, point, systems, identity });
    else finished[place] = known;
  }
  const recalled = points.length - open.length;
  let left = open;
  try {
    while (left.length > 0) {
      const [batch, rest] = cut(left, options);
      const before = points.length - left.length;
      const told = (share: number) => options.onProgress?.((before + share * batch.length) / points.length);
      await simulate(batch, options, told, ({ place, identity }, result) => {
        finished[place] = result;
        options.store.keep(identity, result);
      });
      left = rest;
    }
  } catch (error) {
    if (!(error instanceof Stopped) || finished.every((one) => one === null)) throw error;
  }
  const there = finished.filter((one) => one !== null);
  return {
    rows: there.flatMap(({ rows }) => rows),
    done: there.length,
    asked: points.length,
    recalled,
    unsettled: there.filter(({ settled }) => !settled).length,
  };
}

/** The next points to be simulated together, and those after them. */
function cut(open: readonly Open[], { replications, jobsAtOnce }: SweepOptions): [Open[], Open[]] {
  let jobs = 0;
  const count = open.findIndex(({ systems }) => {
    jobs += systems.reduce((sum, { run }) => sum + (replications ?? run.replications), 0);
    return jobs >= jobsAtOnce;
  });
  const end = count === -1 ? open.length : count + 1;
  return [open.slice(0, end), open.slice(end)];
}

async function simulate(
  batch: readonly Open[],
  { crew, seed, replications }: SweepOptions,
  onProgress: (share: number) => void,
  onFinished: (open: Open, result: Finished) => void,
): Promise<void> {
  const plans: { open: Open; jobs: Job[]; settled: boolean }[] = [];
  for (const open of batch) {
    const root = seed ?? open.systems[0]!.run.seed;
    const { warmupPs, settled } = await warmUpOf(open.systems, root, (pilots) => crew.settle(pilots));
    const jobs = open.systems.flatMap((system) =>
      jobsOf({ system, seed: root, replications: replications ?? system.run.replications, warmupPs }),
    );
    plans.push({ open, settled, jobs });
  }
  const jobs = plans.flatMap((plan) => plan.jobs);
  const { results, stop } = await keptOf(crew.run(jobs, onProgress));
  let at = 0;
  for (const plan of plans) {
    const own = plan.jobs.map((_, k) => results[at + k] ?? null);
    at += plan.jobs.length;
    if (own.includes(null)) continue;
    const { point, systems } = plan.open;
    const rows = systems.flatMap((system) =>
      rowsOf(point, system, own.filter((_, k) => plan.jobs[k]!.system === system) as ReplicationResult[]),
    );
    onFinished(plan.open, { rows, settled: plan.settled });
  }
  if (stop !== null) throw stop;
}

function rowsOf({ keys, scenario }: SweepPoint, system: SystemSpec, results: readonly ReplicationResult[]): SweepRow[] {
  return metricsOf(system, system).map((metric) => ({
    scenario: scenario.name,
    placement: system.placement,
    replication: 'all',
    keys,
    metric,
    ...estimateOf(metric, results),
  }));
}
