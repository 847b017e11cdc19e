// Hot path: asked for each access that enters and at each wake-up. Clocks are those of the DRAM; fields start as what is no
// whole number, so that they stay doubles.
import type { Access } from './access.js';
import type { AccessQueue } from './access-queue.js';
import type { Arrivals } from './arrivals.js';
import { Direction } from './bank-state.js';
import type { ChannelParams } from './channel-params.js';
import type { Drain } from './drain.js';
import type { Planner } from './planner.js';

const { read: READ, write: WRITE } = Direction;

/**
 * When a channel must be awake for the accesses that are on their way to it: at the first clock at which a column command, or
 * an answer from the write queue, could follow from one. Too soon costs an event and changes nothing; too late would be a
 * fault.
 */
export class Forecast {
  /** No column command can go before this clock, because of the last one. */
  columnFrom = -Infinity;
  /** Up to this clock, the channel must be awake whenever an access enters. */
  private watchUntil = -Infinity;
  private readonly inOrder: boolean;
  private readonly nRP: number;
  private readonly nRCD: number;

  constructor(
    { spec }: ChannelParams,
    private readonly queue: AccessQueue,
    private readonly drain: Drain,
    private readonly planner: Planner,
    private readonly arrivals: Arrivals,
  ) {
    this.inOrder = spec.scheduler === 'in_order';
    this.nRP = spec.timing.nRP;
    this.nRCD = spec.timing.nRCD;
  }

  /** An access that may be answered from the write queue enters at clock `edge`: such answers are given at once. */
  watch(edge: number): void {
    if (edge > this.watchUntil) this.watchUntil = edge;
  }

  /** The first clock at which a column command, or an answer, could follow from any access that is on its way; the state is that of clock `since`. */
  next(since: number): number {
    const { arrivals } = this;
    const entry = arrivals.headClock;
    if (entry <= this.watchUntil) return entry;
    const from = this.columnFrom;
    let first = Infinity;
    for (let i = 0; i < arrivals.count && first > from; i++) {
      const access = arrivals.nth(i);
      if (access.enterClock >= first) break;
      const clock = this.soonestColumn(access, since);
      if (clock < first) first = clock;
    }
    return first > from ? first : from;
  }

  /**
   * The first clock at which a column command could go because of an access that is on its way: at once if its row is
   * open, or if its coming may begin a drain, else no sooner than its row can be opened from now on. Where commands take
   * several clocks, a refresh that no longer comes first may free a column command that was put off for it.
   */
  soonestColumn(access: Access, since: number): number {
    const { queue, drain, planner } = this;
    const { bank, enterClock } = access;
    const { openRow, prechargeAt } = bank;
    if (openRow === access.row) return enterClock;
    const { empty } = queue;
    if (!empty && (this.inOrder || (access.direction === WRITE && drain.direction === READ))) return enterClock;
    // the row may have been closed from then on, but opened only for what is queued
    const closes = prechargeAt > since ? prechargeAt : since;
    const legal = openRow < 0 ? bank.activateAt : closes + this.nRP;
    const from = empty ? this.arrivals.headClock : since;
    const opened = (legal > from ? legal : from) + this.nRCD;
    const freed = planner.slowCommands && !empty ? planner.columnFrom : Infinity;
    const soonest = freed < opened ? freed : opened;
    return soonest > enterClock ? soonest : enterClock;
  }
}
