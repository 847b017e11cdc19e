import type { Clock } from '../../engine/clock.js';
import type { Context } from '../context.js';
import type { ForwardQueue } from '../forward-queue.js';
import type { Route, Sink } from '../route.js';
import type { Unfinished } from '../open-requests.js';
import { QueueMeter } from '../window.js';

/** Who takes the data of a core's fetches, and is told when the unit's queue has room. */
export interface SideHost {
  /** The last beat of a fetch arrives, from the unit's clock, at `timePs`. */
  fetched(slot: number, timePs: number): void;
  makesRoom(queue: ForwardQueue): void;
  /** What of one direction was wanted inside the window and is not done. */
  unfinished(write: boolean): Unfinished;
}

/** One direction of a core on a cached buffer: what the rest of the model asks of any master's side. */
export class CoreSide implements Sink {
  /** Bytes wanted and not yet begun. */
  readonly backlogMeter: QueueMeter;
  /** Accesses begun so far, and those in flight. */
  issued = 0;
  outstanding = 0;
  /** Bytes of accesses done inside the window, and of those wanted inside it. */
  movedBytes = 0;
  wantedBytes = 0;
  route!: Route;

  constructor(
    context: Context,
    readonly clock: Clock,
    private readonly write: boolean,
    private readonly host: SideHost,
  ) {
    this.backlogMeter = new QueueMeter(context.window);
  }

  /** Joins this side to the unit. Only reads travel: a store's line is fetched like any other. */
  connect(route: Route): void {
    this.route = route;
    if (!this.write) route.hops[0]!.reads.sender = this.host;
  }

  receive(slot: number, first: number, end: number, last: boolean, edge: number): void {
    if (last) this.host.fetched(slot, this.route.hops[0]!.clock.at(edge + end - first - 1));
  }

  unfinished(): Unfinished {
    return this.host.unfinished(this.write);
  }
}
