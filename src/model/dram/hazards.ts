import type { Access } from './access.js';
import type { AccessQueue } from './access-queue.js';

/** A power of two, many times the entries of a queue. */
const PLACES = 1024;

/**
 * Reads that meet a queued write to the same DRAM burst. A read is hidden on entry, and looked at by the channel's next
 * decision: wholly covered by one write that was there before it or came with it, it is answered from the queue; partly
 * covered, it waits until those writes have gone, and they go first.
 */
export class Hazards {
  private readonly suspects: Access[] = [];
  /** Reads that are yet to be looked at. */
  pending = 0;
  /** Pairs of a read and a write that it waits for. */
  private waiting = 0;
  /** By direction × PLACES + a hash of the place: accesses there, queued or on their way. */
  private readonly there = new Int32Array(2 * PLACES);

  /** @param inOrder whether column commands go strictly in the order of entry */
  constructor(
    private readonly queue: AccessQueue,
    private readonly inOrder: boolean,
  ) {}

  /** An access is on its way. */
  coming(access: Access): void {
    const mixed = (access.row * 31 + access.column) * 17 + access.bank.index;
    access.place = mixed & (PLACES - 1);
    this.there[access.direction * PLACES + access.place]!++;
  }

  /** Is it possible that the access meets one of the other direction? Cheap, and seldom true for nothing. */
  mayMeet(access: Access): boolean {
    return this.there[(1 - access.direction) * PLACES + access.place]! > 0;
  }

  /** An access has left the queue. */
  gone(access: Access): void {
    this.there[access.direction * PLACES + access.place]!--;
  }

  /** An access has entered the queue. Answers whether a read must be looked at because of it. */
  entered(access: Access): boolean {
    if (!this.mayMeet(access)) return false;
    const before = this.pending;
    const other = 1 - access.direction;
    for (let it = access.bank.list(other).first; it !== null; it = it.next) {
      if (!samePlace(it, access)) continue;
      if (other === 1) this.doubt(access);
      // only reads of the same instant can be affected by a write that comes after them
      else if (it.enteredAt === access.enteredAt) this.doubt(it);
    }
    return this.pending > before;
  }

  /** Looks at the reads in doubt; answers the next one that a write covers wholly, or null when all are settled. */
  resolveNext(): Access | null {
    while (this.pending > 0) {
      const read = this.suspects[--this.pending]!;
      read.suspect = 0;
      if (this.covered(read)) return read;
      this.waitForWrites(read);
    }
    return null;
  }

  /** A write has gone: reads that waited for it wait for one less. */
  left(write: Access): void {
    if (this.waiting === 0) return;
    const { queue } = this;
    for (let read = write.bank.reads.first; read !== null;) {
      const next: Access | null = read.next;
      if (read.overlaps > 0 && this.concerns(write, read) && overlap(write, read)) {
        read.overlaps--;
        this.waiting--;
        queue.unhide(read);
      }
      read = next;
    }
  }

  private doubt(read: Access): void {
    if (read.suspect === 1) return;
    read.suspect = 1;
    this.suspects[this.pending++] = read;
    this.queue.hide(read);
  }

  private covered(read: Access): boolean {
    // one that waits for its turn in ID order as well is not answered out of it
    if (read.waits > 1) return false;
    for (let it = read.bank.writes.first; it !== null; it = it.next) {
      if (this.concerns(it, read) && it.low <= read.low && it.high >= read.high) return true;
    }
    return false;
  }

  private waitForWrites(read: Access): void {
    const { queue } = this;
    for (let it = read.bank.writes.first; it !== null;) {
      const next: Access | null = it.next;
      if (this.concerns(it, read) && overlap(it, read)) {
        read.overlaps++;
        this.waiting++;
        queue.hide(read);
      }
      it = next;
    }
    this.needWrites(read);
    // it was hidden once for the doubt
    queue.unhide(read);
  }

  /** Moves the writes that a read waits for to the front; the list changes under way, so it is walked from its start. */
  private needWrites(read: Access): void {
    const { queue } = this;
    for (let it = read.bank.writes.first; it !== null;) {
      const next: Access | null = it.next;
      if (this.concerns(it, read) && overlap(it, read)) queue.need(it);
      it = next;
    }
  }

  /**
   * Is the write to the same DRAM burst, and was it there before the read, or came with it? In order, a write that came
   * with it and stands behind it does not count: it must let the read go first.
   */
  private concerns(write: Access, read: Access): boolean {
    if (!samePlace(write, read)) return false;
    const later = write.enteredAt - read.enteredAt;
    return later < 0 || (later === 0 && (!this.inOrder || write.age < read.age));
  }
}

function samePlace(a: Access, b: Access): boolean {
  return a.row === b.row && a.column === b.column;
}

function overlap(a: Access, b: Access): boolean {
  return a.low < b.high && b.low < a.high;
}
