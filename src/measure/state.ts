import { deviationOf } from './statistics/clusters.js';
import { BEYOND_FOR_VALUE } from './statistics/intervals.js';
import type { SourceKind } from './path-record.js';
import { studentQuantile } from './statistics/student.js';

/** How a path fared. */
export type PathState = 'steady' | 'overloaded' | 'starved' | 'few_samples';

/** Completions from which on even the median can be printed. */
const FEW = 2 * BEYOND_FOR_VALUE;
/** One-sided error rate of the test for a growing backlog: 1 %. */
const GROWTH_CONFIDENCE = 0.99;

/** What the state of a path is judged by, of one replication. */
export interface StateEvidence {
  count: number;
  unfinished: number;
  carriedBytes: number;
  offeredBytes: number | null;
  /** Mean backlog of each quarter, in bytes. */
  backlogQuarters: readonly number[];
}

/**
 * Is the backlog of an open source growing without end: offered load above an element's capacity, or the last quarter's
 * mean backlog above the second's by a paired one-sided t test at 1 % over replications, and less carried than offered?
 * A single replication has no pairs, so only the capacity counts there. Closed sources are never overloaded. Whoever asks
 * many times gives a higher `confidence`.
 */
export function isOverloaded(
  source: SourceKind,
  overCapacity: boolean,
  evidence: readonly StateEvidence[],
  confidence = GROWTH_CONFIDENCE,
): boolean {
  if (source !== 'open') return false;
  if (overCapacity) return true;
  const offered = evidence.reduce((sum, { offeredBytes }) => sum + (offeredBytes ?? 0), 0);
  const carried = evidence.reduce((sum, { carriedBytes }) => sum + carriedBytes, 0);
  if (evidence.length < 2 || carried >= offered) return false;
  const growth = evidence.map(({ backlogQuarters }) => backlogQuarters[3]! - backlogQuarters[1]!);
  const mean = growth.reduce((sum, x) => sum + x, 0) / growth.length;
  const error = deviationOf(growth) / Math.sqrt(growth.length);
  return mean > studentQuantile(confidence, growth.length - 1) * error;
}

/**
 * The state of a path over the given replications; `overloaded` is the verdict over all replications of the study.
 * `starved` has priority: nothing at all completed although something was wanted. Fewer than 20 completions, for which
 * not even the median is printed, are `few_samples`.
 */
export function pathState(evidence: readonly StateEvidence[], overloaded: boolean): PathState {
  const count = evidence.reduce((sum, part) => sum + part.count, 0);
  const wanted = evidence.some((part) => part.unfinished > 0 || (part.offeredBytes ?? 0) > 0);
  if (count === 0 && wanted) return 'starved';
  if (overloaded) return 'overloaded';
  return count < FEW ? 'few_samples' : 'steady';
}
