import type { Clock } from '../engine/clock.js';

/** What one direction of a master is made from. */
export interface SideParams {
  readonly master: number;
  readonly write: boolean;
  readonly clock: Clock;
  readonly widthBytes: number;
  readonly burstBeats: number;
  /** Most bursts in flight. */
  readonly outstanding: number;
  readonly ids: number;
  readonly qos: number;
  /** Start of the master's buffer within its memory. */
  readonly baseAddress: number;
  /** Synchroniser cycles from the first element back into the master's clock. */
  readonly syncBack: number;
}

/** Told what happens to a master's requests. */
export interface SideOwner {
  /** A place for a burst is free, or the last waiting burst has been issued. */
  roomToIssue(write: boolean): void;
  /** All bursts of a request are back, at `calendar.now`; `ask` as it was wanted with. */
  requestDone(write: boolean, thinkPs: number, ask: number): void;
}
