import { clustersOf } from '../level-clusters.js';
import type { Clusters } from '../statistics/clusters.js';
import { type Interval, meanInterval, percentile, percentileInterval } from '../statistics/intervals.js';
import type { Measured } from '../note.js';
import { type PathPlain, pathName } from '../path-record.js';
import type { ReplicationResult } from '../results.js';
import {
  type CellNote,
  type DistributionRow,
  type IntervalEnd,
  type LatencyRow,
  type PathRow,
  PERCENTILES,
  type PercentileName,
  type RowBase,
} from './rows.js';
import { type StateEvidence, isOverloaded, pathState } from '../state.js';

/** One path with what each replication kept of it, in order of replication. */
export interface PooledPath {
  facts: PathPlain;
  replications: readonly ReplicationResult[];
  records: readonly PathPlain[];
}

/** The paths of a placement, in the order of its first replication; every replication must have every path. */
export function poolPaths(replications: readonly ReplicationResult[]): PooledPath[] {
  const found = replications.map((replication) => new Map(replication.paths.map((path) => [identity(path), path])));
  return (replications[0]?.paths ?? []).map((facts) => ({
    facts,
    replications,
    records: found.map((paths, r) => {
      const record = paths.get(identity(facts));
      if (record === undefined) {
        throw new Error(`replication ${replications[r]!.replication} has no record of ${pathName(facts, 'burst')}`);
      }
      return record;
    }),
  }));
}

/** The rows of one path in latency.csv: for each level one a replication, then the pooled one. */
export function latencyRows(path: PooledPath, base: Omit<RowBase, 'replication'>): LatencyRow[] {
  return path.facts.levels.flatMap((_, level) => {
    const evidence = path.records.map((record) => evidenceOf(record, level));
    const overloaded = isOverloaded(path.facts.source, path.facts.overCapacity, evidence);
    const single = path.records.map((_record, r) => latencyRow(base, onlyReplication(path, r), level, overloaded));
    return [...single, { ...latencyRow(base, path, level, overloaded), replication: 'all' as const }];
  });
}

/** The bins of one path in distribution.csv, pooled over the replications given. */
export function distributionRows(path: PooledPath, row: RowBase): DistributionRow[] {
  return path.facts.levels.flatMap((_, level) => {
    const { pooled } = clustersAt(path, level);
    let seen = 0;
    return pooled.bins().map(({ lowPs, highPs, count }) => {
      seen += count;
      return { ...pathRow(path, level, row), lowPs, highPs, count, cumulativeShare: seen / pooled.count };
    });
  });
}

/** The same path as if the study had only its `r`-th replication. */
export function onlyReplication(path: PooledPath, r: number): PooledPath {
  const record = path.records[r]!;
  return { facts: record, replications: [path.replications[r]!], records: [record] };
}

function latencyRow(
  base: Omit<RowBase, 'replication'>,
  path: PooledPath,
  level: number,
  overloaded: boolean,
): LatencyRow {
  const clusters = clustersAt(path, level);
  const { pooled } = clusters;
  const notes: CellNote[] = [];
  const evidence = path.records.map((record) => evidenceOf(record, level));
  return {
    ...pathRow(path, level, { ...base, replication: path.replications[0]!.replication }),
    count: pooled.count,
    unfinished: total(evidence.map(({ unfinished }) => unfinished)),
    meanPs: pooled.meanPs,
    stdevPs: pooled.stdevPs,
    minPs: pooled.minPs,
    percentilesPs: percentileCells(clusters, notes),
    maxPs: pooled.maxPs,
    ...intervalCells(clusters, notes),
    ...trafficCells(path),
    state: pathState(evidence, overloaded),
    notes,
  };
}

function pathRow(path: PooledPath, level: number, base: RowBase): PathRow {
  const { master, port, target, operation, levels } = path.facts;
  return { ...base, master, port, target, operation, level: levels[level]!.level };
}

function percentileCells(clusters: Clusters, notes: CellNote[]): LatencyRow['percentilesPs'] {
  const cell = (name: PercentileName): number | null => take(percentile(clusters, PERCENTILES[name]), name, notes);
  return {
    p50: cell('p50'),
    p90: cell('p90'),
    p95: cell('p95'),
    p99: cell('p99'),
    p99_9: cell('p99_9'),
    p99_99: cell('p99_99'),
  };
}

/** Both intervals; a row of one replication has them only where that replication is the whole study and so in batches. */
export function intervalCells(
  clusters: Clusters,
  notes: CellNote[],
): Pick<LatencyRow, 'meanLowPs' | 'meanHighPs' | 'p99LowPs' | 'p99HighPs'> {
  if (clusters.parts.length < 2) return { meanLowPs: null, meanHighPs: null, p99LowPs: null, p99HighPs: null };
  const mean = ends(meanInterval(clusters), 'mean_ci95', notes);
  const p99 = ends(percentileInterval(clusters, 0.99), 'p99_ci95', notes);
  return { meanLowPs: mean.low, meanHighPs: mean.high, p99LowPs: p99.low, p99HighPs: p99.high };
}

function ends(
  measured: Measured<Interval>,
  subject: CellNote['subject'],
  notes: CellNote[],
): { low: IntervalEnd; high: IntervalEnd } {
  if (measured.note?.reason === 'deterministic') return { low: 'deterministic', high: 'deterministic' };
  const interval = take(measured, subject, notes);
  return { low: interval?.lowPs ?? null, high: interval?.highPs ?? null };
}

function take<T>(measured: Measured<T>, subject: CellNote['subject'], notes: CellNote[]): T | null {
  if (measured.note !== null) notes.push({ ...measured.note, subject });
  return measured.value;
}

function trafficCells(
  path: PooledPath,
): Pick<LatencyRow, 'bytes' | 'bytesPerS' | 'offeredBytesPerS' | 'maxBacklogBytes'> {
  const seconds = total(path.replications.map(({ windowPs }) => windowPs)) / 1e12;
  const bytes = total(path.records.map((record) => record.bytes));
  const offered = path.facts.offeredBytes === null ? null : total(path.records.map((r) => r.offeredBytes ?? 0));
  return {
    bytes,
    bytesPerS: seconds > 0 ? bytes / seconds : null,
    offeredBytesPerS: seconds > 0 && offered !== null ? offered / seconds : null,
    maxBacklogBytes: Math.max(...path.records.map((record) => record.maxBacklogBytes)),
  };
}

function evidenceOf(record: PathPlain, level: number): StateEvidence {
  const { histogram, unfinished } = record.levels[level]!;
  const { bytes: carriedBytes, offeredBytes, backlogQuarters } = record;
  return { count: histogram.count, unfinished, carriedBytes, offeredBytes, backlogQuarters };
}

function clustersAt(path: PooledPath, level: number): Clusters {
  const load = Math.max(...path.replications.map((replication) => loadOf(path, replication)));
  return clustersOf(
    path.records.map(({ levels }) => levels[level]!),
    path.replications[0]!.windowPs,
    load,
  );
}

/** Utilisation of the busiest element on the path; of all, if its route names none that was measured. */
function loadOf(path: PooledPath, replication: ReplicationResult): number {
  const onRoute = replication.elements.filter(({ element }) => path.facts.route.includes(element));
  const elements = onRoute.length > 0 ? onRoute : replication.elements;
  return Math.max(0, ...elements.map(({ busyPs, servers }) => busyPs / (servers * replication.windowPs)));
}

/** Names may hold any character but this one. */
const identity = (path: PathPlain): string => [path.master, path.port, path.target, path.operation].join('\u0000');

const total = (series: readonly number[]): number => series.reduce((sum, x) => sum + x, 0);
