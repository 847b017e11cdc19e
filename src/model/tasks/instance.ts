/** One instance of a task that is under way. */
export class Instance {
  /** Step that is under way, from 0. */
  step = 0;
  beganAt = 0;
  /** Requests of the step that are not back, and when the last of those that are was. */
  left = 0;
  readyAt = 0;
  /** Time spent on hand-overs so far. */
  upkeepPs = 0;
  /** Its last read of a flag: when the core was asked for it, and when it began it; and how many there were. */
  readonly poll = { step: -1, askedAt: -1, begunAt: -1, reads: 0 };

  /**
   * @param number of the instance within its task: that of its trigger
   * @param slot its place among those under way, of all tasks
   */
  constructor(
    readonly task: number,
    readonly number: number,
    readonly slot: number,
    readonly triggeredAt: number,
  ) {}
}

/** The number under which masters are asked on behalf of an instance; reads of a flag go by another than its steps. */
export const askOf = ({ slot }: Instance, polls: boolean): number => 2 * slot + (polls ? 1 : 0);
export const slotOf = (ask: number): number => ask >> 1;
export const isPoll = (ask: number): boolean => (ask & 1) === 1;
