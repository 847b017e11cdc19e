import { type Clusters, makeClusters } from '../statistics/clusters.js';
import { Histogram } from '../statistics/histogram.js';
import { percentile } from '../statistics/intervals.js';
import type { Measured } from '../note.js';
import { intervalCells } from './path-rows.js';
import type { ReplicationResult } from '../results.js';
import { type CellNote, PERCENTILES, type RowBase, type TaskRow } from './rows.js';
import type { TaskPlain } from '../task-record.js';

/** The rows of tasks.csv of one placement: for each task one a replication, then the pooled one. */
export function taskRows(replications: readonly ReplicationResult[], base: Omit<RowBase, 'replication'>): TaskRow[] {
  const names = (replications[0]?.tasks ?? []).map(({ task }) => task);
  return names.flatMap((name) => {
    const each = replications.map((one) => rowOf(name, [one], { ...base, replication: one.replication }));
    return [...each, rowOf(name, replications, { ...base, replication: 'all' })];
  });
}

function rowOf(name: string, replications: readonly ReplicationResult[], base: RowBase): TaskRow {
  const records = replications.map(({ tasks }) => tasks.find(({ task }) => task === name)!);
  const clusters = clustersOf(records, replications);
  const { pooled } = clusters;
  const total = (key: 'misses' | 'dropped' | 'queued' | 'totalPs' | 'upkeepPs'): number =>
    records.reduce((sum, record) => sum + record[key], 0);
  const notes: CellNote[] = [];
  const cell = (measured: Measured<number>, subject: 'p50' | 'p99'): number | null => {
    if (measured.note !== null) notes.push({ ...measured.note, subject });
    return measured.value;
  };
  const { deadlinePs } = records[0]!;
  return {
    ...base,
    task: name,
    instances: pooled.count,
    unfinished: records.reduce((sum, { level }) => sum + level.unfinished, 0),
    meanPs: pooled.meanPs,
    p50Ps: cell(percentile(clusters, PERCENTILES.p50), 'p50'),
    p99Ps: cell(percentile(clusters, PERCENTILES.p99), 'p99'),
    maxPs: pooled.maxPs,
    deadlinePs,
    misses: deadlinePs === null ? null : total('misses'),
    dropped: total('dropped'),
    queued: total('queued'),
    upkeepShare: total('totalPs') > 0 ? total('upkeepPs') / total('totalPs') : null,
    ...intervalCells(clusters, notes),
    notes,
  };
}

/** Replications as clusters, or the batches of the only one. */
function clustersOf(records: readonly TaskPlain[], replications: readonly ReplicationResult[]): Clusters {
  const levels = records.map(({ level }) => level);
  const batched = levels.length === 1 && levels[0]!.batches.length > 0;
  const plain = batched ? levels[0]!.batches : levels.map(({ histogram }) => histogram);
  const busy = replications.flatMap(({ elements, windowPs }) =>
    elements.map(({ busyPs, servers }) => busyPs / (servers * windowPs)),
  );
  return makeClusters({
    kind: batched ? 'batches' : 'replications',
    parts: plain.map((part) => Histogram.fromPlain(part)),
    unfinished: batched ? levels[0]!.unfinishedByBatch : levels.map(({ unfinished }) => unfinished),
    unfinishedFromPs: Math.min(...levels.map(({ youngestUnfinishedPs }) => youngestUnfinishedPs ?? Infinity)),
    windowPs: replications[0]!.windowPs,
    // a task may meet any element
    load: Math.max(0, ...busy),
  });
}
