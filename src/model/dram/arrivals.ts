import type { Access } from './access.js';

/**
 * Accesses on their way to a channel's queue, by the clock at which they reach it and then by age. They are known some
 * cycles ahead, so that the channel needs no event to take one in: it does so when it next looks.
 */
export class Arrivals {
  count = 0;
  /** The clock of the first one, or Infinity. */
  headClock = Infinity;
  private readonly ring: Access[];
  private readonly mask: number;
  private first = 0;

  /** @param pool of all accesses there are */
  constructor(pool: readonly Access[]) {
    let size = 4;
    while (size < pool.length) size *= 2;
    this.ring = Array.from({ length: size }, () => pool[0]!);
    this.mask = size - 1;
  }

  /** Adds an access whose time, clock of entry and age are set; few ever come out of order. */
  push(access: Access): void {
    const { ring, mask, first } = this;
    let at = first + this.count++;
    while (at > first && before(access, ring[(at - 1) & mask]!)) {
      ring[at & mask] = ring[(at - 1) & mask]!;
      at--;
    }
    ring[at & mask] = access;
    if (at === first) this.headClock = access.enterClock;
  }

  /** The access that is number `place` in order, from 0. */
  nth(place: number): Access {
    return this.ring[(this.first + place) & this.mask]!;
  }

  /** Takes the first one out. */
  shift(): Access {
    const access = this.ring[this.first]!;
    this.first = (this.first + 1) & this.mask;
    this.headClock = --this.count === 0 ? Infinity : this.ring[this.first]!.enterClock;
    return access;
  }
}

function before(a: Access, b: Access): boolean {
  return a.enteredAt !== b.enteredAt ? a.enteredAt < b.enteredAt : a.age < b.age;
}
