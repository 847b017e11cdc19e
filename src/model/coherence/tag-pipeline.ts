// Hot path: one decision per line looked up.
import type { ForwardQueue } from '../forward-queue.js';

const NONE = -1;

/** Lines that are looked up again after a fill, oldest first: they have been arbitrated for already. */
export class ReplayList {
  readonly slots: number[] = [];
  readonly lines: number[] = [];

  push(slot: number, index: number): void {
    this.slots.push(slot);
    this.lines.push(index);
  }

  get length(): number {
    return this.slots.length;
  }

  remove(place: number): void {
    this.slots.splice(place, 1);
    this.lines.splice(place, 1);
  }
}

/** One input queue of the unit: how far the burst at its head has been looked up. */
export interface Head {
  readonly queue: ForwardQueue;
  /** Next line of the burst at the head. */
  line: number;
}

/** By requester: a changed line that a core pushed out and that the unit has still to take; −1 for none. */
export class PendingVictims {
  private readonly lines: Float64Array;
  private readonly masters: Int32Array;
  count = 0;

  constructor(requesters: number) {
    this.lines = new Float64Array(requesters).fill(NONE);
    this.masters = new Int32Array(requesters);
  }

  set(requester: number, line: number, master: number): void {
    this.lines[requester] = line;
    this.masters[requester] = master;
    this.count++;
  }

  line(requester: number): number {
    return this.lines[requester]!;
  }

  master(requester: number): number {
    return this.masters[requester]!;
  }

  clear(requester: number): void {
    this.lines[requester] = NONE;
    this.count--;
  }
}
