import { clustersOf } from '../level-clusters.js';
import { percentile } from '../statistics/intervals.js';
import type { Measured } from '../note.js';
import { intervalCells } from './path-rows.js';
import type { ReplicationResult } from '../results.js';
import { type CellNote, PERCENTILES, type RowBase, type TaskRow } from './rows.js';

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
  const clusters = clustersOf(
    records.map(({ level }) => level),
    replications[0]!.windowPs,
    loadOf(replications),
  );
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

/** Utilisation of the busiest element of all: a task may meet any. */
function loadOf(replications: readonly ReplicationResult[]): number {
  const busy = replications.flatMap(({ elements, windowPs }) =>
    elements.map(({ busyPs, servers }) => busyPs / (servers * windowPs)),
  );
  return Math.max(0, ...busy);
}
