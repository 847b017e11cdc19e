// Hot path: read and written for every command. Records of a fixed pool, made once. Each field keeps its kind for good (a
// small whole number, a double, a record), for then V8 checks the record once and reads a field by one load, where each
// element of a typed array costs its own check, bound and two loads. A double starts as a fraction, lest it be taken for
// a small whole number; a store then goes in place.
import type { Bank } from './bank.js';

/** What an access found when its own first command was chosen. */
export const RowState = { unknown: 0, hit: 1, empty: 2, conflict: 3 } as const;

/** One column access of a channel, reserved or queued. */
export class Access {
  /** `Direction`. */
  direction = 0;
  bank: Bank;
  row = 0;
  column = 0;
  /** Useful bytes [low, high) within the DRAM burst. */
  low = 0;
  high = 0;
  qos = 0;
  /** The master that it is of, whatever becomes of the burst. */
  master = 0;
  /** For the sender: the burst, and which of its accesses this is. */
  burst = 0;
  piece = 0;
  /** Order of entry, which the sender assigns; decides where instants tie. */
  age = 0.5;
  /** When it reaches the queue, in ps, and the first DRAM clock then or after. */
  enteredAt = 0.5;
  enterClock = 0.5;
  /** First DRAM clock at which the access is past the cap. */
  capAt = 0.5;
  /** The lower of two goes first within a class: urgency, then age. */
  key = 0.5;
  urgency = 0;
  rowState: number = RowState.unknown;
  /** The clock of that command. */
  firstClock = 0.5;
  /** For whoever keeps books: who held that command up, −1 while that is not known, and whose row it closed. */
  heldBy = -1;
  closes = -1;
  /** How many things it waits for before it may be served. */
  waits = 0;
  /** For a read: how many of those are writes that it overlaps. */
  overlaps = 0;
  /** For a read: 1 while it is yet to be looked at whether it meets a write. */
  suspect = 0;
  /** Hash of its place in the DRAM. */
  place = 0;
  /** For a sender that keeps order: its stream and the access, as it numbers them, that comes next; −1: none. */
  stream = 0.5;
  after = 0.5;
  /** Neighbours among those queued: by bank and direction, and by direction and age. */
  next: Access | null = null;
  previous: Access | null = null;
  newer: Access | null = null;
  older: Access | null = null;

  /**
   * @param number its place in the pool
   * @param bank any, until the sender sets it
   */
  constructor(
    readonly number: number,
    bank: Bank,
  ) {
    this.bank = bank;
  }
}
