import { describe, expect, test } from 'vitest';
import { budgetRows } from '../../src/measure/budgets.js';
import { differenceOf } from '../../src/measure/difference.js';
import { poolStudy } from '../../src/measure/tables/pool.js';
import type { ReplicationResult } from '../../src/measure/results.js';
import { TaskRecord } from '../../src/measure/task-record.js';
import { taskRows } from '../../src/measure/tables/task-rows.js';
import type { BudgetSpec, TaskSpec } from '../../src/scenario/scenario.js';
import { studyNow } from '../study/study-now.js';
import { RIG } from '../model/tasks/task-rig.js';
import { read } from '../scenario/reading.js';
import { replicationSample, WINDOW_PS } from './study-sample.js';

const US = 1e6;
const SORT: TaskSpec = {
  name: 'sort',
  trigger: { process: 'poisson', everyPs: US },
  steps: [],
  deadlinePs: 60 * US,
  stopPs: Infinity,
  overlap: 1,
  whenFull: 'queue',
};
const BUDGET: BudgetSpec = { name: 'b', kind: 'task', task: 'sort', percentile: 0.99, level: 'task', limitPs: 60 * US };

interface Found {
  /** Times in us, each of one instance. */
  readonly times: readonly number[];
  readonly open?: readonly number[];
  readonly dropped?: number;
}

function replication(
  number: number,
  { times, open = [], dropped = 0 }: Found,
  budgets: BudgetSpec[] = [BUDGET],
): ReplicationResult {
  const record = new TaskRecord(SORT, { fromPs: 0, toPs: WINDOW_PS, batched: false, keepAtMost: 0 }, budgets);
  for (const time of times) record.ended(time * US, 0, (time * US) / 4);
  for (const age of open) record.leaveOpen(age * US, 0);
  record.dropped = dropped;
  return { ...replicationSample(number, 0), tasks: [record.toPlain()] };
}

const several = (found: (number: number) => Found, count = 10): ReplicationResult[] =>
  Array.from({ length: count }, (_, r) => replication(r + 1, found(r + 1)));
const times = (count: number, us = 20): number[] => Array.from({ length: count }, (_, i) => us + i / 100);
const base = { scenario: 's', placement: 'p' };

describe('the row of a task', () => {
  test('counts misses exactly: at the deadline it is kept, a picosecond later missed, and what is older at the end too', () => {
    const found = { times: [60, 60.000001, 10], open: [59, 61], dropped: 2 };
    const [own, pooled] = taskRows([replication(1, found)], base);
    expect(own).toMatchObject({
      instances: 3,
      misses: 2,
      dropped: 2,
      unfinished: 2,
      deadlinePs: 60 * US,
      replication: 1,
    });
    expect(pooled).toMatchObject({ instances: 3, misses: 2, dropped: 2, replication: 'all' });
  });

  test('has the share of hand-overs over all instances, weighed by their time', () => {
    expect(taskRows([replication(1, { times: [10, 30] })], base)[0]!.upkeepShare).toBe(0.25);
    expect(taskRows([replication(1, { times: [] })], base)[0]!.upkeepShare).toBe(null);
  });

  test('prints a percentile with ten samples beyond it, and says otherwise what is missing', () => {
    const row = (count: number) =>
      taskRows(
        several(() => ({ times: times(count) })),
        base,
      ).at(-1)!;
    expect(row(99).p99Ps).toBe(null);
    expect(row(99).notes).toContainEqual(expect.objectContaining({ subject: 'p99', reason: 'few_beyond' }));
    expect(row(100).p99Ps).toBeGreaterThan(20.5 * US);
    expect(row(99).p50Ps).not.toBe(null);
  });

  test('has an interval of the mean where replications differ', () => {
    const rows = taskRows(
      several((r) => ({ times: times(100, 20 + r) })),
      base,
    );
    const { meanPs, meanLowPs, meanHighPs } = rows.at(-1)!;
    expect(meanLowPs).toBeLessThan(meanPs!);
    expect(meanHighPs).toBeGreaterThan(meanPs!);
    expect(
      taskRows(
        several(() => ({ times: times(100) })),
        base,
      ).at(-1)!.meanLowPs,
    ).toBe('deterministic');
  });

  test('what has not ended leaves percentiles empty that it could change', () => {
    const rows = taskRows(
      several(() => ({ times: times(200), open: [1, 1, 1] })),
      base,
    );
    expect(rows.at(-1)).toMatchObject({ p99Ps: null, unfinished: 30 });
  });
});

describe('a budget of a task', () => {
  const verdict = (found: (number: number) => Found, budget = BUDGET) => {
    const replications = Array.from({ length: 10 }, (_, r) => replication(r + 1, found(r + 1), [budget]));
    return budgetRows({ placement: 'p', budgets: [budget], replications }, replications, base).at(-1)!;
  };

  test('is met where few enough are late, and missed where more are', () => {
    expect(verdict(() => ({ times: times(200) }))).toMatchObject({ verdict: 'met', level: 'task', limit: 60 * US });
    expect(verdict(() => ({ times: [...times(90), ...times(10, 70)] })).verdict).toBe('missed');
  });

  test('counts what was dropped as late', () => {
    expect(verdict(() => ({ times: times(90), dropped: 10 })).verdict).toBe('missed');
  });

  test('of no misses at all is never met', () => {
    const none = { ...BUDGET, percentile: 1 };
    expect(verdict(() => ({ times: times(100) }), none)).toMatchObject({ verdict: 'none', none: { samples: 1000 } });
    expect(verdict((r) => ({ times: r === 3 ? [...times(99), 61] : times(100) }), none).verdict).toBe('missed');
    expect(verdict((r) => ({ times: times(100), dropped: r === 3 ? 1 : 0 }), none).verdict).toBe('missed');
  });
});

test('two systems are compared by the mean or a percentile of a task', () => {
  const pairs = {
    baseline: several((r) => ({ times: times(1000, 20 + r / 50) })),
    variant: several((r) => ({ times: times(1000, 30 + r / 50) })),
  };
  const mean = differenceOf({ name: 'mean', kind: 'task', task: 'sort', level: 'task', percentile: null }, pairs, 0.05);
  const p99 = differenceOf({ name: 'p99', kind: 'task', task: 'sort', level: 'task', percentile: 0.99 }, pairs, 0.05);
  expect(mean).toMatchObject({ difference: expect.closeTo(10 * US, -2) as number });
  expect((p99 as { difference: number }).difference / US).toBeCloseTo(10, 0);
});

describe('a study with tasks', () => {
  const study = (run: string, job: string) =>
    studyNow(read(`${RIG.replace(/run:.*\n/u, `run: { ${run} }\n`)}tasks:\n  job: { ${job} }\n`));
  const every = 'trigger: { process: periodic, every: 1 us, offset: 0 ns }';

  test('counts an instance by its trigger, and waits for the last of them', () => {
    const run = 'replications: 1, warmup: 2 us, duration: 10 us, drain: 20 us';
    const [row] = poolStudy(study(run, `${every}, overlap: unlimited, steps: [{ do: compute, time: 5 us }]`)).tasks;
    expect(row).toMatchObject({ instances: 10, unfinished: 0, meanPs: 5 * US, maxPs: 5 * US });
  });

  test('what tasks ask of any master counts as offered', () => {
    const run = 'replications: 1, warmup: 0 ns, duration: 10 us, drain: 20 us';
    const asks = ['driver', 'watcher', 'joiner', 'engine_out'].map(
      (master) => `{ do: write, master: ${master}, bytes: 24 B }`,
    );
    const { placements } = study(run, `${every}, steps: [${asks.join(', ')}]`);
    const paths = placements[0]!.replications[0]!.paths.filter(({ operation }) => operation === 'write');
    const bytes = (name: string) => paths.find(({ master }) => master === name)!.offeredBytes;
    expect(['driver', 'watcher', 'joiner', 'engine_out'].map(bytes)).toEqual([240, 240, 240, 240]);
  });

  test('leaves open what the drain limit cuts off', () => {
    const run = 'replications: 1, warmup: 2 us, duration: 10 us, drain: 1 us';
    const job = `${every}, overlap: unlimited, deadline: 4 us, steps: [{ do: compute, time: 5 us }]`;
    const [row] = poolStudy(study(run, job)).tasks;
    // triggered at 2 to 11 us; at 13 us those of 9, 10 and 11 are under way, and the one of 8 has just ended
    expect(row).toMatchObject({ instances: 7, unfinished: 3, misses: 7 });
  });

  test('those that wait for their turn are open too', () => {
    const run = 'replications: 1, warmup: 0 ns, duration: 10 us, drain: 0 ns';
    const [row] = poolStudy(study(run, `${every}, steps: [{ do: compute, time: 3 us }]`)).tasks;
    expect(row).toMatchObject({ instances: 3, unfinished: 7, queued: 9 });
  });
});
