import type { ForwardQueue } from './forward-queue.js';

/** A way that one burst has at a time, out or back, and who has it now or had it last, for whoever keeps books. */
export interface Lane {
  /** Its number among all places, and that of the element whose output or input it is. */
  readonly place: number;
  readonly element: number;
  /** The master of the burst that had it last, −1 before the first; since when that is known, and until when it has it. */
  readonly user: number;
  readonly since: number;
  readonly freeAt: number;
  /** The queue that burst came out of, and still heads until then; null on the way back. */
  readonly emptied: ForwardQueue | null;
}
