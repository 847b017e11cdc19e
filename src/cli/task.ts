/** What goes to a worker and what comes back: plain data, as both stand in threads of their own. */
import type { ReplicationResult } from '../measure/results.js';
import type { Job } from '../study/crew.js';
import type { Pilot, Settled } from '../study/pilot.js';

/**
 * A system as a worker gets it: in memory that all threads see, however large it is (a trace may be), so that it is
 * turned into objects once by each worker and copied for no job.
 */
export interface SharedSystem {
  /** Of all systems of a crew. */
  readonly id: number;
  readonly bytes: SharedArrayBuffer;
}

/** Work for one worker. */
export type Task =
  | {
      readonly kind: 'job';
      readonly system: SharedSystem;
      readonly job: Omit<Job, 'system'>;
      /**
       * How much of each job of the batch is done, in parts of `PARTS`, and the place of this one. The worker leaves out the
       * last part: its answer.
       */
      readonly progress: Int32Array;
      readonly place: number;
    }
  | { readonly kind: 'pilot'; readonly system: SharedSystem; readonly pilot: Omit<Pilot, 'system'> };

/** An error without its class, which does not pass from thread to thread. */
export interface PlainError {
  readonly name: string;
  readonly message: string;
  readonly stack: string;
}

export type Answer =
  | { readonly kind: 'job'; readonly result: ReplicationResult }
  | { readonly kind: 'pilot'; readonly settled: Settled }
  | { readonly kind: 'error'; readonly error: PlainError };

/** Progress is told in so many parts of a job. */
export const PARTS = 1000;
