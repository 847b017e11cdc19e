import { budgetRows } from '../budgets.js';
import { cacheRows, memoryRows, resourceRows } from './counter-rows.js';
import { blameRows, stageRows } from './journey-rows.js';
import { type PooledPath, distributionRows, latencyRows, onlyReplication, poolPaths } from './path-rows.js';
import { taskRows } from './task-rows.js';
import type { PlacementResult, StudyResult } from '../results.js';
import { queueRows, timelineRows } from './timeline-rows.js';
import type {
  BlameRow,
  BudgetRow,
  CacheRow,
  DistributionRow,
  LatencyRow,
  MemoryRow,
  QueueRow,
  ResourceRow,
  StageRow,
  TimelineRow,
  TaskRow,
} from './rows.js';

/** The rows of every table. */
export interface StudyTables {
  latency: LatencyRow[];
  distribution: DistributionRow[];
  resources: ResourceRow[];
  memory: MemoryRow[];
  cache: CacheRow[];
  stages: StageRow[];
  blame: BlameRow[];
  timeline: TimelineRow[];
  queues: QueueRow[];
  tasks: TaskRow[];
  budgets: BudgetRow[];
}

export interface PoolOptions {
  /** Also give the bins of every single replication; they make distribution.csv longer by as many times. */
  distributionOfEach: boolean;
}

/**
 * Builds all tables. Placements, then paths or elements, stand in the order of the study; within each, replications in
 * their order and then the pooled row `all`. Replications are sorted by number first, so the order in which they
 * finished leaves no trace.
 */
export function poolStudy(study: StudyResult, options: PoolOptions = { distributionOfEach: false }): StudyTables {
  const tables: StudyTables = {
    latency: [],
    distribution: [],
    resources: [],
    memory: [],
    cache: [],
    stages: [],
    blame: [],
    timeline: [],
    queues: [],
    tasks: [],
    budgets: [],
  };
  for (const placement of study.placements) {
    const part = poolPlacement(study.scenario, placement, options);
    tables.latency.push(...part.latency);
    for (const row of part.distribution) tables.distribution.push(row);
    tables.resources.push(...part.resources);
    tables.memory.push(...part.memory);
    tables.cache.push(...part.cache);
    tables.stages.push(...part.stages);
    tables.blame.push(...part.blame);
    for (const row of part.timeline) tables.timeline.push(row);
    for (const row of part.queues) tables.queues.push(row);
    tables.tasks.push(...part.tasks);
    tables.budgets.push(...part.budgets);
  }
  return tables;
}

function poolPlacement(scenario: string, placement: PlacementResult, options: PoolOptions): StudyTables {
  const base = { scenario, placement: placement.placement };
  const replications = placement.replications.toSorted((a, b) => a.replication - b.replication);
  const paths = poolPaths(replications);
  return {
    latency: paths.flatMap((path) => latencyRows(path, base)),
    distribution: paths.flatMap((path) => binsOf(path, base, options)),
    resources: resourceRows(replications, base),
    memory: memoryRows(replications, base),
    cache: cacheRows(replications, base),
    stages: paths.flatMap((path) => stageRows(path, base)),
    blame: paths.flatMap((path) => blameRows(path, base)),
    timeline: [...timelineRows(replications, base)],
    queues: [...queueRows(replications, base)],
    tasks: taskRows(replications, base),
    budgets: budgetRows(placement, replications, base),
  };
}

function binsOf(
  path: PooledPath,
  base: { scenario: string; placement: string },
  options: PoolOptions,
): DistributionRow[] {
  const each = options.distributionOfEach
    ? path.replications.flatMap(({ replication }, r) =>
        distributionRows(onlyReplication(path, r), { ...base, replication }),
      )
    : [];
  return [...each, ...distributionRows(path, { ...base, replication: 'all' })];
}
