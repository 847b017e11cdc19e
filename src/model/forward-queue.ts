// Hot path: one push and one pop per burst and hop.
import type { Bursts } from './bursts.js';
import type { QueueMeter } from './window.js';
import type { Context } from './context.js';

/** The element that a queue feeds. */
export interface QueueOwner {
  /** The queue has a new head, which can act from `bursts.usableAt` of it on; called by the sender's push. */
  arrived(queue: ForwardQueue): void;
}

/** Whoever sends into a queue, and may be waiting for room in it. */
export interface QueueSender {
  /** A place of the queue will be seen to be free from its `freesAt` on. */
  makesRoom(queue: ForwardQueue): void;
}

/**
 * A finite input queue of one element, input and direction (and output, where an input keeps a queue for each). The
 * sender takes a place when it sends; a freed place is seen by the sender only from the instant the owner names.
 */
export class ForwardQueue {
  sender: QueueSender | null = null;
  /** The burst at the head, or −1: kept at hand, as it is asked for more often than it changes. */
  head = -1;
  /** Its number among all places. */
  readonly place: number;
  /** From when on the head may be granted: an input gives one burst at a time. Kept by the owner. */
  eligibleAt = 0;
  /** From when on the place given back last is seen to be free: a field, as a time that is passed is put on the heap. */
  freesAt = 0.5;
  /** The queue beyond the output that the head wants. Kept by the owner. */
  target: ForwardQueue | null = null;
  private ring = new Int32Array(8);
  private first = 0;
  private waiting = 0;
  private room: number;
  private freed = new Float64Array(8);
  private freedFirst = 0;
  private freedCount = 0;
  private readonly bursts: Bursts;

  constructor(
    private readonly context: Context,
    readonly owner: QueueOwner,
    readonly input: number,
    readonly write: boolean,
    readonly depth: number,
    /** Places taken in all queues of the owner, from the sender's send to the owner's release. */
    private readonly meter: QueueMeter,
  ) {
    this.place = context.places.count++;
    this.room = depth;
    this.bursts = context.bursts;
  }

  /** Bursts that stand in the queue. */
  get length(): number {
    return this.waiting;
  }

  /** May the sender send at `nowPs`? */
  hasRoom(nowPs: number): boolean {
    while (this.freedCount > 0 && this.freed[this.freedFirst]! <= nowPs) {
      this.freedFirst = (this.freedFirst + 1) & (this.freed.length - 1);
      this.freedCount--;
      this.room++;
    }
    return this.room > 0;
  }

  /** When the sender may send, judged at `nowPs`: now, when a freed place will be seen, or Infinity while none is freed. */
  roomAt(nowPs: number): number {
    if (this.hasRoom(nowPs)) return nowPs;
    return this.freedCount > 0 ? this.freed[this.freedFirst]! : Infinity;
  }

  /** From when on the sender may send, as far as is known now: a time not later than now, a later one, or Infinity. */
  get roomFrom(): number {
    if (this.room > 0) return 0;
    return this.freedCount > 0 ? this.freed[this.freedFirst]! : Infinity;
  }

  /** Takes a place; `bursts.usableAt[slot]` says when the burst can act here. */
  push(slot: number): void {
    this.room--;
    this.meter.change(this.context.calendar.now, 1);
    if (this.waiting === this.ring.length) this.growRing();
    this.ring[(this.first + this.waiting) & (this.ring.length - 1)] = slot;
    if (++this.waiting > 1) return;
    this.head = slot;
    this.owner.arrived(this);
  }

  /** When the head can act, or Infinity. */
  get headUsableAt(): number {
    return this.waiting === 0 ? Infinity : this.bursts.usableAt[this.ring[this.first]!]!;
  }

  /** Takes the head out; its place is not free before `release`. */
  pop(): number {
    const slot = this.head;
    this.first = (this.first + 1) & (this.ring.length - 1);
    this.head = --this.waiting === 0 ? -1 : this.ring[this.first]!;
    return slot;
  }

  /** The place of a popped burst is seen to be free from `timePs` on; times never fall. */
  release(timePs: number): void {
    this.meter.change(this.context.calendar.now, -1);
    if (this.freedCount === this.freed.length) this.growFreed();
    this.freed[(this.freedFirst + this.freedCount++) & (this.freed.length - 1)] = timePs;
    this.freesAt = timePs;
    this.sender?.makesRoom(this);
  }

  private growRing(): void {
    const ring = new Int32Array(this.ring.length * 2);
    for (let i = 0; i < this.waiting; i++) ring[i] = this.ring[(this.first + i) & (this.ring.length - 1)]!;
    this.ring = ring;
    this.first = 0;
  }

  private growFreed(): void {
    const freed = new Float64Array(this.freed.length * 2);
    for (let i = 0; i < this.freedCount; i++) freed[i] = this.freed[(this.freedFirst + i) & (this.freed.length - 1)]!;
    this.freed = freed;
    this.freedFirst = 0;
  }
}
