/** One row of each table, in canonical units (ps, bytes, bytes per second, shares); null is an empty cell. */
import type { StageName } from '../journey/stage.js';
import type { BudgetSpec, MetricSpec } from '../../scenario/scenario.js';
import type { Note } from '../note.js';
import type { Operation, SampleLevel } from '../path-record.js';
import type { PathState } from '../state.js';

/** What every row starts with. */
export interface RowBase {
  scenario: string;
  placement: string;
  /** A replication's number from 1, or `all` for the pooled row. */
  replication: number | 'all';
}

/** Which path, and between which instants its latency is taken. */
export interface PathRow extends RowBase {
  master: string;
  port: string;
  target: string;
  operation: Operation;
  level: SampleLevel;
}

/** The percentiles that are printed, by the name that columns and notes use. */
export const PERCENTILES = { p50: 0.5, p90: 0.9, p95: 0.95, p99: 0.99, p99_9: 0.999, p99_99: 0.9999 } as const;
export type PercentileName = keyof typeof PERCENTILES;

/** One end of an interval: in ps, or that nothing differs between replications, or empty. */
export type IntervalEnd = number | 'deterministic' | null;

/** Why cells of this row are empty. */
export interface CellNote extends Note {
  /** What the cells would show. */
  subject: PercentileName | 'mean_ci95' | 'p99_ci95';
}

export interface LatencyRow extends PathRow {
  count: number;
  unfinished: number;
  meanPs: number | null;
  stdevPs: number | null;
  minPs: number | null;
  percentilesPs: Readonly<Record<PercentileName, number | null>>;
  maxPs: number | null;
  meanLowPs: IntervalEnd;
  meanHighPs: IntervalEnd;
  p99LowPs: IntervalEnd;
  p99HighPs: IntervalEnd;
  bytes: number;
  bytesPerS: number | null;
  offeredBytesPerS: number | null;
  maxBacklogBytes: number;
  state: PathState;
  notes: CellNote[];
}

/** A task; times from the trigger to the end of the last step. */
export interface TaskRow extends RowBase {
  task: string;
  instances: number;
  unfinished: number;
  meanPs: number | null;
  p50Ps: number | null;
  p99Ps: number | null;
  maxPs: number | null;
  deadlinePs: number | null;
  /** null: it has no deadline. */
  misses: number | null;
  dropped: number;
  queued: number;
  upkeepShare: number | null;
  meanLowPs: IntervalEnd;
  meanHighPs: IntervalEnd;
  p99LowPs: IntervalEnd;
  p99HighPs: IntervalEnd;
  notes: CellNote[];
}

export interface DistributionRow extends PathRow {
  lowPs: number;
  highPs: number;
  count: number;
  cumulativeShare: number;
}

export interface StageRow extends Omit<PathRow, 'level'> {
  part: 'all' | 'slowest_1_percent';
  stage: StageName;
  meanPs: number | null;
  p99Ps: number | null;
  share: number | null;
  followedShare: number;
}

export interface BlameRow extends RowBase {
  /** Master and operation. */
  victim: string;
  /** A master, `(itself)` or `(refresh)`. */
  culprit: string;
  element: string;
  meanPs: number;
  totalPs: number;
  chargedShare: number;
}

export interface ResourceRow extends RowBase {
  element: string;
  kind: string;
  utilisation: number | null;
  meanQueue: number | null;
  maxQueue: number;
  grants: number;
  stallShare: number | null;
}

export interface MemoryRow extends RowBase {
  memory: string;
  channel: number;
  rowHitShare: number | null;
  rowEmptyShare: number | null;
  rowConflictShare: number | null;
  refreshShare: number | null;
  turnaroundShare: number | null;
  wastedShare: number | null;
  readBytesPerS: number | null;
  writeBytesPerS: number | null;
  peakBytesPerS: number;
  columnAccesses: number;
}

/** A window and a master. */
export interface TimelineRow extends RowBase {
  /** From the start of the run. */
  startPs: number;
  master: string;
  readBytesPerS: number;
  writeBytesPerS: number;
  meanPs: number | null;
  maxPs: number | null;
}

/** A window and an element's queues. */
export interface QueueRow extends RowBase {
  /** From the start of the run. */
  startPs: number;
  element: string;
  meanDepth: number;
  maxDepth: number;
}

/** One burst; times from the start of the run. */
export interface BurstRow extends Omit<PathRow, 'level'> {
  /** Within its master and direction, from 0. */
  number: number;
  /** Within the memory. */
  address: number;
  bytes: number;
  wantedPs: number;
  /** null: a hit in a core's own cache, which was never presented. */
  offeredPs: number | null;
  acceptedPs: number | null;
  donePs: number;
  /** By stage; null where none are kept. */
  stagesPs: readonly number[] | null;
  /** The longest wait for one culprit at one element; null where nobody was charged. */
  longestWaitPs: number | null;
  waitsFor: string | null;
  waitsAt: string | null;
}

/** How a budget fares; `none`: no miss was seen where none is allowed. */
export type BudgetVerdict = 'met' | 'missed' | 'undecided' | 'none';

/** In ps, bytes per second or as a share, by the kind of the budget. */
export interface BudgetRow extends RowBase {
  budget: string;
  spec: BudgetSpec;
  level: SampleLevel | null;
  limit: number;
  measured: number | null;
  /** Above zero inside the budget. */
  marginShare: number | null;
  /** null: one replication decides nothing. */
  verdict: BudgetVerdict | null;
  /** Why it is undecided. */
  reason: string | null;
  /** Of `none`: the samples, and the largest share of runs that may hold a miss, at 95 %. */
  none: { samples: number; share: number } | null;
}

/** `…_better`: shown; `no_difference_shown`: the interval holds zero; the others say why there is no interval. */
export type ComparisonVerdict =
  'baseline_better' | 'variant_better' | 'no_difference_shown' | 'overloaded' | 'too_few_samples' | 'unfinished';

/** A metric of two systems, in ps, bytes per second or as a share, by its kind. */
export interface ComparisonRow extends RowBase {
  metric: MetricSpec;
  baseline: string;
  variant: string;
  baselineValue: number | null;
  variantValue: number | null;
  difference: number | null;
  low: number | null;
  high: number | null;
  verdict: ComparisonVerdict;
  /** Of `overloaded`: the systems in which the path is. */
  overloadedIn: string[];
}

/**
 * How an assignment fares in a search. `runner_up`: among the last that were looked at, and meets its budgets;
 * `worse`: left out before, by the goal; `over_budget`: left out before, as it passed a budget by what was measured, which
 * is less than a verdict; `undecided_budget`: not shown to meet its budgets, nor to miss one; `no_value`:
 * the goal cannot be read; the others were ruled out.
 */
export type PlaceStatus =
  | 'best'
  | 'runner_up'
  | 'undecided_budget'
  | 'worse'
  | 'over_budget'
  | 'no_value'
  | 'budget_missed'
  | 'over_capacity'
  | 'impossible';

/** What speaks against an assignment. */
export type PlaceFailure =
  | { readonly kind: 'budgets'; readonly rows: readonly BudgetRow[] }
  | {
      readonly kind: 'capacity';
      readonly element: string;
      readonly channel: string;
      readonly offeredBytesPerS: number;
      readonly capacityBytesPerS: number;
    }
  | { readonly kind: 'reason'; readonly text: string };

/** One class of assignments; values in ps, bytes per second or as a share, by the kind of the goal. */
export interface PlaceRow extends RowBase {
  /** From 1; null for what was ruled out. */
  rank: number | null;
  status: PlaceStatus;
  /** The element of each mover. */
  attachment: ReadonlyMap<string, string>;
  /** Of each mover the elements that may stand for its own without a difference, its own among them. */
  alike: ReadonlyMap<string, readonly string[]>;
  /** Assignments that this one stands for. */
  assignments: number;
  goal: MetricSpec;
  value: number | null;
  /** Less the best one's, over the replications that both have. */
  difference: number | null;
  low: number | null;
  high: number | null;
  replications: number;
  failure: PlaceFailure | null;
  /** What its replications warned of, such as stale reads. */
  warnings: readonly string[];
}

/** `better`, `worse`: shown; `no_change_shown`: the interval holds zero; the others say why there is no interval. */
export type SensitivityVerdict =
  'better' | 'worse' | 'no_change_shown' | 'overloaded' | 'too_few_samples' | 'unfinished';

/** The budget with the smallest margin, when one element is a tenth faster; in ps, bytes per second or as a share. */
export interface SensitivityRow extends RowBase {
  element: string;
  kind: string;
  /** As it stands. */
  utilisation: number | null;
  spec: BudgetSpec;
  level: SampleLevel | null;
  limit: number;
  now: number | null;
  faster: number | null;
  change: number | null;
  low: number | null;
  high: number | null;
  verdict: SensitivityVerdict;
}

/** One command to a DRAM; what it does not name is null. */
export interface CommandRow extends RowBase {
  memory: string;
  channel: number;
  /** When it is on the command bus, from the start of the run. */
  timePs: number;
  rank: number;
  bankGroup: number | null;
  /** Within the rank. */
  bank: number | null;
  row: number | null;
  command: string;
}

export interface CacheRow extends RowBase {
  cache: string;
  master: string;
  lookups: number;
  hits: number;
  misses: number;
  merged: number;
  hitShare: number | null;
  evictions: number;
  writebacks: number;
  interventions: number;
  staleReads: number;
}

/** What the value of a metric is worth, or why there is none. */
export type EstimateState = 'measured' | 'overloaded' | 'too_few_samples' | 'no_samples';

/** A metric of one placement at one point of a sweep. */
export interface SweepRow extends RowBase {
  /** The values of the swept keys, in their order. */
  keys: readonly string[];
  metric: MetricSpec;
  value: number | null;
  low: number | null;
  high: number | null;
  state: EstimateState;
}

/** A range of a key in which two placements change rank, or that there is none. */
export interface CrossingRow extends RowBase {
  key: string;
  metric: MetricSpec;
  baseline: string;
  variant: string;
  /** As written in a scenario file. */
  low: string;
  high: string;
  /** The placement that is better at and below `low`, and at and above `high`; null where that is not known. */
  betterBelow: string | null;
  betterAbove: string | null;
  verdict: CrossingVerdict;
}

/**
 * `narrowed`: the change lies between, and nothing lies between that was worth a look. `undecided`: it lies between, and
 * what was looked at there shows no difference. `no_change`: one is better at all points that show a difference.
 * `nothing_shown`: no point shows any.
 */
export type CrossingVerdict = 'narrowed' | 'undecided' | 'no_change' | 'nothing_shown';
