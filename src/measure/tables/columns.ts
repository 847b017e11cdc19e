/**
 * Every table's columns, in the order of the output contract: the one source of CSV headers, of the docs and of the
 * tests. A column, once published, keeps its meaning.
 */
import { BASE, type Column, type Table, column } from './column.js';
import { STAGES } from '../journey/stage.js';
import type {
  BlameRow,
  CacheRow,
  CommandRow,
  DistributionRow,
  LatencyRow,
  MemoryRow,
  PathRow,
  PercentileName,
  ResourceRow,
  StageRow,
} from './rows.js';

import { BURSTS } from './burst-columns.js';
import { QUEUES, TIMELINE } from './timeline-columns.js';
import { TASKS } from './task-columns.js';
import { BUDGETS, COMPARISON, SENSITIVITY } from './verdict-columns.js';

export type { Cell, Column, Quantity, Table } from './column.js';

function percentileColumn(name: PercentileName, share: string): Column<LatencyRow> {
  const meaning = `Latency that ${share} of the samples do not exceed; empty with fewer than 10 samples beyond it.`;
  return column('time', `${name}_ns`, meaning, (row) => row.percentilesPs[name]);
}

const ROUTE: readonly Column<Omit<PathRow, 'level'>>[] = [
  ...BASE,
  column('text', 'master', 'Who issues.', (row) => row.master),
  column('text', 'port', 'Where the master is attached.', (row) => row.port),
  column('text', 'target', 'The memory or device at the end of the path.', (row) => row.target),
  column('text', 'operation', 'read or write.', (row) => row.operation),
];

const PATH: readonly Column<PathRow>[] = [
  ...ROUTE,
  column(
    'text',
    'level',
    'burst: wanted to done; port: first offered at the port to done; transfer: request wanted to its last burst done.',
    (row) => row.level,
  ),
];

export const LATENCY: Table<LatencyRow> = {
  file: 'latency.csv',
  rowIs: 'a path, operation and level',
  columns: [
    ...PATH,
    column('count', 'count', 'Samples wanted inside the measuring window that completed.', (row) => row.count),
    column('count', 'unfinished', 'Samples wanted inside the window that had not come back at the end.', (row) => {
      return row.unfinished;
    }),
    column('time', 'mean_ns', 'Mean latency.', (row) => row.meanPs),
    column('time', 'stdev_ns', 'Standard deviation of the latency over samples.', (row) => row.stdevPs),
    column('time', 'min_ns', 'Smallest latency.', (row) => row.minPs),
    percentileColumn('p50', '50 %'),
    percentileColumn('p90', '90 %'),
    percentileColumn('p95', '95 %'),
    percentileColumn('p99', '99 %'),
    percentileColumn('p99_9', '99.9 %'),
    percentileColumn('p99_99', '99.99 %'),
    column('time', 'max_ns', 'Largest latency seen; not a worst-case bound.', (row) => row.maxPs),
    column(
      'time',
      'mean_ci95_low_ns',
      'Lower end of the 95 % interval of the mean, on the pooled row; `deterministic` when replications do not differ.',
      (row) => row.meanLowPs,
    ),
    column('time', 'mean_ci95_high_ns', 'Upper end of the 95 % interval of the mean.', (row) => row.meanHighPs),
    column(
      'time',
      'p99_ci95_low_ns',
      'Lower end of the 95 % interval of p99, on the pooled row; empty with fewer than 100 samples beyond p99.',
      (row) => row.p99LowPs,
    ),
    column('time', 'p99_ci95_high_ns', 'Upper end of the 95 % interval of p99.', (row) => row.p99HighPs),
    column('count', 'bytes', 'Bytes that moved inside the window, on the whole path.', (row) => row.bytes, 'bytes'),
    column('rate', 'bandwidth_mb_per_s', 'Those bytes per second, in 10^6 bytes.', (row) => row.bytesPerS),
    column(
      'rate',
      'offered_mb_per_s',
      'Bytes wanted inside the window per second; empty for a greedy source.',
      (row) => row.offeredBytesPerS,
    ),
    column(
      'count',
      'max_backlog_bytes',
      'Most bytes wanted and not yet delivered at once: the FIFO depth the source needs.',
      (row) => row.maxBacklogBytes,
      'bytes',
    ),
    column(
      'text',
      'state',
      'steady, overloaded (backlog grows without end), starved (nothing completed) or few_samples (fewer than 20).',
      (row) => row.state,
    ),
  ],
};

export const DISTRIBUTION: Table<DistributionRow> = {
  file: 'distribution.csv',
  rowIs: "a bin of a path's latency",
  columns: [
    ...PATH,
    column('time', 'bin_low_ns', 'Smallest latency in the bin.', (row) => row.lowPs),
    column('time', 'bin_high_ns', 'End of the bin; the first latency that is not in it.', (row) => row.highPs),
    column('count', 'count', 'Samples in the bin.', (row) => row.count),
    column(
      'share',
      'cumulative_share',
      'Share of all samples in this bin or a lower one.',
      (row) => row.cumulativeShare,
    ),
  ],
};

export const RESOURCES: Table<ResourceRow> = {
  file: 'resources.csv',
  rowIs: 'an element',
  columns: [
    ...BASE,
    column('text', 'element', 'Name of the element, or of one output of it.', (row) => row.element),
    column('text', 'kind', 'What it is.', (row) => row.kind),
    column(
      'share',
      'utilisation',
      'Share of the window in which it was busy; over its servers, if it has several.',
      (row) => row.utilisation,
    ),
    column('number', 'mean_queue', 'Mean number waiting, over time.', (row) => row.meanQueue),
    column('count', 'max_queue', 'Most that waited at once.', (row) => row.maxQueue),
    column('count', 'grants', 'Bursts it granted or served.', (row) => row.grants),
    column(
      'share',
      'stall_share',
      'Share of the window in which it had something to send and no room beyond.',
      (row) => row.stallShare,
    ),
  ],
};

export const MEMORY: Table<MemoryRow> = {
  file: 'memory.csv',
  rowIs: 'a DRAM channel',
  columns: [
    ...BASE,
    column('text', 'memory', 'Name of the memory.', (row) => row.memory),
    column('count', 'channel', 'Number of the channel, from 0.', (row) => row.channel),
    column('share', 'row_hit_share', 'Share of column accesses that found their row open.', (row) => row.rowHitShare),
    column('share', 'row_empty_share', 'Share that found their bank closed.', (row) => row.rowEmptyShare),
    column('share', 'row_conflict_share', 'Share that found another row open.', (row) => row.rowConflictShare),
    column(
      'share',
      'refresh_share',
      'Share of the window in which ranks were blocked for refresh.',
      (row) => row.refreshShare,
    ),
    column(
      'share',
      'turnaround_share',
      'Share of the window that the data bus lost to changes of direction.',
      (row) => row.turnaroundShare,
    ),
    column('share', 'wasted_share', 'Share of the data beats that nobody had asked for.', (row) => row.wastedShare),
    column('rate', 'read_mb_per_s', 'Bytes read per second, in 10^6 bytes.', (row) => row.readBytesPerS),
    column('rate', 'write_mb_per_s', 'Bytes written per second, in 10^6 bytes.', (row) => row.writeBytesPerS),
    column('rate', 'peak_mb_per_s', 'What the data bus could carry if it never paused.', (row) => row.peakBytesPerS),
    column('count', 'column_accesses', 'Column accesses.', (row) => row.columnAccesses),
  ],
};

export const CACHE: Table<CacheRow> = {
  file: 'cache.csv',
  rowIs: 'a cache and a master',
  columns: [
    ...BASE,
    column('text', 'cache', 'Name of the cache.', (row) => row.cache),
    column('text', 'master', 'Whose accesses.', (row) => row.master),
    column('count', 'lookups', 'Lookups.', (row) => row.lookups),
    column('count', 'hits', 'Lookups that hit.', (row) => row.hits),
    column('count', 'misses', 'Lookups that missed and started a fetch or went through.', (row) => row.misses),
    column('count', 'merged', 'Lookups that joined a miss already in flight.', (row) => row.merged),
    column('share', 'hit_share', 'Hits per lookup.', (row) => row.hitShare),
    column('count', 'evictions', 'Lines that its accesses drove out.', (row) => row.evictions),
    column(
      'count',
      'writebacks',
      'Dirty lines that its accesses caused to be written to memory.',
      (row) => row.writebacks,
    ),
    column('count', 'interventions', "Accesses served out of another core's cache.", (row) => row.interventions),
    column(
      'count',
      'stale_reads',
      'Accesses past the caches that met a line which a cache held: stale data.',
      (row) => row.staleReads,
    ),
  ],
};

export const STAGE_TABLE: Table<StageRow> = {
  file: 'stages.csv',
  rowIs: 'a path and a stage',
  columns: [
    ...ROUTE,
    column('text', 'part', 'all bursts, or the slowest_1_percent of them.', (row) => row.part),
    column('text', 'stage', `${STAGES.map(({ name }) => name).join(', ')}.`, (row) => row.stage),
    column('time', 'mean_ns', 'Mean time in this stage; those of all stages add up to the mean latency.', (row) => {
      return row.meanPs;
    }),
    column(
      'time',
      'p99_ns',
      'Time in this stage that 99 % of the bursts do not exceed; empty with fewer than 10 beyond it, and for the slowest.',
      (row) => row.p99Ps,
    ),
    column('share', 'share', 'Share of the latency.', (row) => row.share),
    column(
      'share',
      'followed_share',
      'Share of the bursts that were followed, whose time stands for that of all of like latency: the first 128 of a path, and those that set out in spells spread over the run.',
      (row) => row.followedShare,
    ),
  ],
};

export const BLAME_TABLE: Table<BlameRow> = {
  file: 'blame.csv',
  rowIs: 'a victim, a culprit and a place',
  columns: [
    ...BASE,
    column('text', 'victim', 'Who waits: a master and an operation.', (row) => row.victim),
    column('text', 'culprit', 'For whom: a master, (itself) or (refresh).', (row) => row.culprit),
    column('text', 'element', 'Where the culprit was busy.', (row) => row.element),
    column(
      'time',
      'mean_ns_per_burst',
      'Waiting due to this, per burst of the victim; all of a victim add up to its mean waiting.',
      (row) => row.meanPs,
    ),
    column('number', 'total_us', 'The same, over all bursts of the victim.', (row) => row.totalPs / 1e6, 'us'),
    column(
      'share',
      'charged_share',
      'Share of the bursts whose waiting was charged, which stand for all of like latency: those that were followed, and of these every k-th where more than 32 masters contend.',
      (row) => row.chargedShare,
    ),
  ],
};

export const COMMANDS: Table<CommandRow> = {
  file: 'commands.csv',
  rowIs: 'a DRAM command',
  columns: [
    ...BASE,
    column('text', 'memory', 'Name of the memory.', (row) => row.memory),
    column('count', 'channel', 'Number of the channel, from 0.', (row) => row.channel),
    column(
      'time',
      'time_ns',
      "The DRAM's clock edge at which the command begins, from the start of the run, warm-up included.",
      (row) => row.timePs,
    ),
    column('count', 'rank', 'Number of the rank, from 0.', (row) => row.rank),
    column(
      'count',
      'bank_group',
      'Number of the bank group in its rank; empty for commands to a whole rank.',
      (row) => row.bankGroup,
    ),
    column('count', 'bank', 'Number of the bank in its rank; empty for commands to a whole rank.', (row) => row.bank),
    column(
      'count',
      'row',
      'The row that is opened, read, written or closed; empty for commands to a whole rank and for refresh_bank.',
      (row) => row.row,
    ),
    column(
      'text',
      'command',
      'activate, read, write, read_auto and write_auto (with auto-precharge), precharge, precharge_all, refresh or refresh_bank.',
      (row) => row.command,
    ),
  ],
};

/** All tables, in the order in which they are written; comparison.csv by `compare`, sensitivity.csv by `sensitivity`, logs only where asked for. */
export const TABLES = {
  latency: LATENCY,
  distribution: DISTRIBUTION,
  resources: RESOURCES,
  memory: MEMORY,
  cache: CACHE,
  stages: STAGE_TABLE,
  blame: BLAME_TABLE,
  timeline: TIMELINE,
  queues: QUEUES,
  tasks: TASKS,
  budgets: BUDGETS,
  comparison: COMPARISON,
  sensitivity: SENSITIVITY,
  commands: COMMANDS,
  bursts: BURSTS,
};
