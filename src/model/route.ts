import type { Clock } from '../engine/clock.js';
import type { ForwardQueue } from './forward-queue.js';
import type { ReturnLane } from './return-lane.js';

/** One element on a route. */
export interface Hop {
  /** Number of the element. */
  readonly element: number;
  readonly clock: Clock;
  /** Synchroniser cycles on the way into this element, from the hop before (0 where both share a clock). */
  readonly syncIn: number;
  /** Synchroniser cycles on the way back into this element, from the hop after. */
  readonly syncBack: number;
  /** Bytes of one beat here: the element's width, or less where beats pass one for one from a narrower side. */
  readonly beatBytes: number;
  /** The input by which the route comes in and the output by which it leaves (−1 at the end). */
  readonly input: number;
  readonly output: number;
  /** Queues at this element's input. */
  readonly reads: ForwardQueue;
  readonly writes: ForwardQueue;
  /** Lanes from this element back to the hop before. */
  readonly readLane: ReturnLane;
  readonly writeLane: ReturnLane;
  /** Is a write answered as soon as this element has it whole? */
  readonly early: boolean;
}

/** Who takes what comes back at the start of a route: a master, or an element that sent a burst of its own. */
export interface Sink {
  /**
   * Beats `first` to `end` − 1 of read data, or a write's response (0 to 1), leave the first hop so as to arrive a cycle
   * each from edge `edge` of its clock on; with `last` the burst is whole.
   */
  receive(slot: number, first: number, end: number, last: boolean, edge: number): void;
}

/** The way from where bursts start to the element that serves them. */
export interface Route {
  readonly hops: readonly Hop[];
  readonly sink: Sink;
  /** Name of the memory or device, for reports. */
  readonly target: string;
  /** Number of that memory among the memories that a coherence unit refills from; −1 where no unit ends the route. */
  readonly refill: number;
  /** Straight from an unclocked master to an unclocked device: no time passes on the way, and no order is kept. */
  readonly immediate: boolean;
  /** Is a write answered on its way, before memory has accepted it? */
  readonly early: boolean;
  /** Is a burst that finds the first queue full lost, rather than held back? */
  readonly lossy: boolean;
}
