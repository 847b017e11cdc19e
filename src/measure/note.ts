/** Why a cell is empty. */
export type NoteReason =
  /** Nothing completed. */
  | 'no_samples'
  /** Too few samples lie beyond the percentile. */
  | 'few_beyond'
  /** The samples beyond come from too few replications or batches. */
  | 'few_clusters'
  /** What had not come back when the run stopped could change the value. */
  | 'unfinished'
  /** Nothing differs between replications: the value is exact for this scenario, and there is no interval. */
  | 'deterministic'
  /** One replication, and its batches still depend on each other. */
  | 'correlated_batches'
  /** One replication, and its batches are too short for the load. */
  | 'short_batches'
  /** The replications hold such different numbers of samples that the interval has no end. */
  | 'uneven';

/** Why there is no value, what there is against what is needed, and the measuring window that would give it. */
export interface Note {
  reason: NoteReason;
  /** What was found, in the reason's own unit (samples, replications, samples per batch, correlation); null if none. */
  have: number | null;
  need: number | null;
  /** Measuring window of one replication that would be enough, in ps; null where a longer one does not help. */
  neededPs: number | null;
}

/** A value, or null and why. */
export type Measured<T> = { value: T; note: null } | { value: null; note: Note };

export const known = <T>(value: T): Measured<T> => ({ value, note: null });

export function unknown<T>(
  reason: NoteReason,
  have: number | null = null,
  need: number | null = null,
  neededPs: number | null = null,
): Measured<T> {
  return { value: null, note: { reason, have, need, neededPs } };
}

/** Too few of something that grows with the window: `have` came in `windowPs`, `need` are wanted. */
export function tooFew<T>(reason: NoteReason, have: number, need: number, windowPs: number): Measured<T> {
  return unknown(reason, have, need, have > 0 ? Math.ceil((windowPs * need) / have) : null);
}
