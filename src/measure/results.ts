/** What a finished study is, as plain data: it can cross a worker's border, be kept, and be turned into every table. */
import type { BudgetSpec } from '../scenario/scenario.js';
import type { PathPlain } from './path-record.js';
import type { TimelinePlain } from './timeline.js';
import type { TaskPlain } from './task-record.js';

/** A sentence for the user, and how often it came up. */
export interface Warning {
  text: string;
  count: number;
}

/** One element, or one output of it, in one replication; all times lie within the window. */
export interface ElementCounters {
  element: string;
  kind: string;
  busyPs: number;
  /** Servers that can be busy at once; 1 for all but devices with several. */
  servers: number;
  /** Integral of the number waiting, in items × ps. */
  queueAreaPs: number;
  maxQueue: number;
  grants: number;
  /** Time in which it had something to send and no room beyond. */
  stallPs: number;
}

/** One DRAM channel in one replication. */
export interface ChannelCounters {
  memory: string;
  channel: number;
  rowHits: number;
  rowEmpties: number;
  rowConflicts: number;
  refreshPs: number;
  turnaroundPs: number;
  /** Data beats moved, and those of them that nobody asked for. */
  beats: number;
  wastedBeats: number;
  readBytes: number;
  writeBytes: number;
  peakBytesPerS: number;
  columnAccesses: number;
}

/** One cache as used by one master, in one replication. */
export interface CacheCounters {
  cache: string;
  master: string;
  lookups: number;
  hits: number;
  misses: number;
  merged: number;
  evictions: number;
  writebacks: number;
  interventions: number;
  staleReads: number;
}

/** One replication of one placement. */
export interface ReplicationResult {
  /** From 1. */
  replication: number;
  /** Length of the measuring window. */
  windowPs: number;
  /** Simulated time, warm-up and drain included. */
  simulatedPs: number;
  events: number;
  paths: PathPlain[];
  tasks: TaskPlain[];
  elements: ElementCounters[];
  channels: ChannelCounters[];
  caches: CacheCounters[];
  /** Its course over time; null where that is not kept: of all but the first replication. */
  timeline: TimelinePlain | null;
  warnings: Warning[];
}

/** All replications of one placement, in order of their number. */
export interface PlacementResult {
  placement: string;
  /** What it must keep to. */
  budgets: readonly BudgetSpec[];
  replications: ReplicationResult[];
}

/** A finished study. */
export interface StudyResult {
  scenario: string;
  /** What the author says it answers. */
  title: string;
  seed: string;
  /** Version of this program. */
  version: string;
  /** Same for all placements; null when it was found not to settle. */
  warmupPs: number | null;
  /** The user wanted no more: there are fewer replications than were asked for. */
  stopped: boolean;
  placements: PlacementResult[];
  /** Warnings that belong to no replication. */
  warnings: Warning[];
}

/** The warnings of several lists, equal texts counted together, in order of first appearance. */
export function mergeWarnings(lists: Iterable<readonly Warning[]>): Warning[] {
  const counts = new Map<string, number>();
  for (const list of lists) for (const { text, count } of list) counts.set(text, (counts.get(text) ?? 0) + count);
  return [...counts].map(([text, count]) => ({ text, count }));
}

/** All warnings of a study. */
export function studyWarnings(study: StudyResult): Warning[] {
  const replications = study.placements.flatMap((placement) => placement.replications);
  return mergeWarnings([study.warnings, ...replications.map((replication) => replication.warnings)]);
}
