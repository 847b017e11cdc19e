import type { ChannelCounters, ReplicationResult } from '../results.js';
import type { CacheRow, MemoryRow, ResourceRow, RowBase } from './rows.js';

type Base = Omit<RowBase, 'replication'>;

/** The same thing (element, channel, cache and master) in each replication that has it. */
interface Series<Counters> {
  counters: Counters[];
  replications: ReplicationResult[];
}

/** resources.csv: for each element one row a replication, then the pooled one. */
export function resourceRows(replications: readonly ReplicationResult[], base: Base): ResourceRow[] {
  const series = seriesOf(
    replications,
    ({ elements }) => elements,
    ({ element, kind }) => [element, kind],
  );
  return withPooled(series, ({ counters, replications: of }, replication) => ({
    ...base,
    replication,
    element: counters[0]!.element,
    kind: counters[0]!.kind,
    utilisation: ratio(sum(counters, 'busyPs'), window(of) * counters[0]!.servers),
    meanQueue: ratio(sum(counters, 'queueAreaPs'), window(of)),
    maxQueue: Math.max(...counters.map(({ maxQueue }) => maxQueue)),
    grants: sum(counters, 'grants'),
    stallShare: ratio(sum(counters, 'stallPs'), window(of)),
  }));
}

/** memory.csv: for each DRAM channel one row a replication, then the pooled one. */
export function memoryRows(replications: readonly ReplicationResult[], base: Base): MemoryRow[] {
  const series = seriesOf(
    replications,
    ({ channels }) => channels,
    ({ memory, channel }) => [memory, String(channel)],
  );
  return withPooled(series, ({ counters, replications: of }, replication) => ({
    ...base,
    replication,
    memory: counters[0]!.memory,
    channel: counters[0]!.channel,
    ...rowShares(counters),
    refreshShare: ratio(sum(counters, 'refreshPs'), window(of)),
    turnaroundShare: ratio(sum(counters, 'turnaroundPs'), window(of)),
    wastedShare: ratio(sum(counters, 'wastedBeats'), sum(counters, 'beats')),
    readBytesPerS: ratio(sum(counters, 'readBytes') * 1e12, window(of)),
    writeBytesPerS: ratio(sum(counters, 'writeBytes') * 1e12, window(of)),
    peakBytesPerS: counters[0]!.peakBytesPerS,
    columnAccesses: sum(counters, 'columnAccesses'),
  }));
}

/** cache.csv: for each cache and master one row a replication, then the pooled one. */
export function cacheRows(replications: readonly ReplicationResult[], base: Base): CacheRow[] {
  const series = seriesOf(
    replications,
    ({ caches }) => caches,
    ({ cache, master }) => [cache, master],
  );
  return withPooled(series, ({ counters }, replication) => ({
    ...base,
    replication,
    cache: counters[0]!.cache,
    master: counters[0]!.master,
    lookups: sum(counters, 'lookups'),
    hits: sum(counters, 'hits'),
    misses: sum(counters, 'misses'),
    merged: sum(counters, 'merged'),
    hitShare: ratio(sum(counters, 'hits'), sum(counters, 'lookups')),
    evictions: sum(counters, 'evictions'),
    writebacks: sum(counters, 'writebacks'),
    interventions: sum(counters, 'interventions'),
    staleReads: sum(counters, 'staleReads'),
  }));
}

function rowShares(
  counters: readonly ChannelCounters[],
): Pick<MemoryRow, 'rowHitShare' | 'rowEmptyShare' | 'rowConflictShare'> {
  const hits = sum(counters, 'rowHits');
  const empties = sum(counters, 'rowEmpties');
  const conflicts = sum(counters, 'rowConflicts');
  const all = hits + empties + conflicts;
  return {
    rowHitShare: ratio(hits, all),
    rowEmptyShare: ratio(empties, all),
    rowConflictShare: ratio(conflicts, all),
  };
}

/** Gathers what has one identity over the replications, in order of first appearance. */
function seriesOf<Counters>(
  replications: readonly ReplicationResult[],
  list: (replication: ReplicationResult) => readonly Counters[],
  identity: (counters: Counters) => string[],
): Series<Counters>[] {
  const found = new Map<string, Series<Counters>>();
  for (const replication of replications) {
    for (const counters of list(replication)) {
      const key = identity(counters).join('\u0000');
      const series = found.get(key) ?? { counters: [], replications: [] };
      series.counters.push(counters);
      series.replications.push(replication);
      found.set(key, series);
    }
  }
  return [...found.values()];
}

function withPooled<Counters, Row>(
  all: readonly Series<Counters>[],
  make: (series: Series<Counters>, replication: number | 'all') => Row,
): Row[] {
  return all.flatMap((series) => [
    ...series.counters.map((counters, i) => {
      const replication = series.replications[i]!;
      return make({ counters: [counters], replications: [replication] }, replication.replication);
    }),
    make(series, 'all'),
  ]);
}

/** Sum of one counter that all of `counters` have. */
function sum<Key extends string>(counters: readonly Record<Key, number>[], key: Key): number {
  return counters.reduce((total, one) => total + one[key], 0);
}

const window = (replications: readonly ReplicationResult[]): number =>
  replications.reduce((total, { windowPs }) => total + windowPs, 0);

const ratio = (above: number, below: number): number | null => (below > 0 ? above / below : null);
