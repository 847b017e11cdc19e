import type { AccessQueue } from './access-queue.js';

/**
 * Accesses on their way to a channel's queue, by the clock at which they reach it and then by age. They are known some
 * cycles ahead, so that the channel needs no event to take one in: it does so when it next looks.
 */
export class Arrivals {
  count = 0;
  private readonly ring: Int32Array;
  private readonly mask: number;
  private first = 0;

  constructor(private readonly queue: AccessQueue) {
    let size = 4;
    while (size < queue.capacity) size *= 2;
    this.ring = new Int32Array(size);
    this.mask = size - 1;
  }

  /** Adds an access whose time, clock of entry and age are set; few ever come out of order. */
  push(access: number): void {
    const { ring, mask } = this;
    let at = this.first + this.count++;
    while (at > this.first && this.before(access, ring[(at - 1) & mask]!)) {
      ring[at & mask] = ring[(at - 1) & mask]!;
      at--;
    }
    ring[at & mask] = access;
  }

  /** The clock of the first one, or Infinity. */
  headClock(): number {
    return this.count === 0 ? Infinity : this.queue.enterClock[this.ring[this.first]!]!;
  }

  /** The access that is number `place` in order, from 0. */
  nth(place: number): number {
    return this.ring[(this.first + place) & this.mask]!;
  }

  /** Takes the first one out. */
  shift(): number {
    const access = this.ring[this.first]!;
    this.first = (this.first + 1) & this.mask;
    this.count--;
    return access;
  }

  private before(a: number, b: number): boolean {
    const { enteredAt, age } = this.queue;
    return enteredAt[a] !== enteredAt[b] ? enteredAt[a]! < enteredAt[b]! : age[a]! < age[b]!;
  }
}
