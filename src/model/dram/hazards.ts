import type { AccessQueue } from './access-queue.js';

/** A power of two, many times the entries of a queue. */
const PLACES = 1024;

/**
 * Reads that meet a queued write to the same DRAM burst. A read is hidden on entry, and looked at by the channel's next
 * decision: wholly covered by one write that was there before it or came with it, it is answered from the queue; partly
 * covered, it waits until those writes have gone, and they go first.
 */
export class Hazards {
  private readonly suspects: Int32Array;
  /** Reads that are yet to be looked at. */
  pending = 0;
  private readonly suspect: Uint8Array;
  /** Pairs of a read and a write that it waits for. */
  private waiting = 0;
  /** By direction × PLACES + a hash of the place: accesses there, queued or on their way. */
  private readonly there = new Int32Array(2 * PLACES);
  private readonly place: Int32Array;

  /** @param inOrder whether column commands go strictly in the order of entry */
  constructor(
    private readonly queue: AccessQueue,
    private readonly inOrder: boolean,
  ) {
    this.suspects = new Int32Array(queue.capacity);
    this.suspect = new Uint8Array(queue.capacity);
    this.place = new Int32Array(queue.capacity);
  }

  /** An access is on its way. */
  coming(access: number): void {
    const { queue } = this;
    const mixed = (queue.row[access]! * 31 + queue.column[access]!) * 17 + queue.bank[access]!;
    this.place[access] = mixed & (PLACES - 1);
    this.there[queue.write[access]! * PLACES + this.place[access]!]!++;
  }

  /** Is it possible that the access meets one of the other direction? Cheap, and seldom true for nothing. */
  mayMeet(access: number): boolean {
    return this.there[(1 - this.queue.write[access]!) * PLACES + this.place[access]!]! > 0;
  }

  /** An access has left the queue. */
  gone(access: number): void {
    this.there[this.queue.write[access]! * PLACES + this.place[access]!]!--;
  }

  /** An access has entered the queue. Answers whether a read must be looked at because of it. */
  entered(access: number): boolean {
    if (!this.mayMeet(access)) return false;
    const { queue } = this;
    const before = this.pending;
    const other = queue.write[access] === 1 ? 0 : 1;
    for (let it = queue.first[this.list(access, other)]!; it >= 0; it = queue.next[it]!) {
      if (!this.samePlace(it, access)) continue;
      if (other === 1) this.doubt(access);
      // only reads of the same instant can be affected by a write that comes after them
      else if (queue.enteredAt[it] === queue.enteredAt[access]) this.doubt(it);
    }
    return this.pending > before;
  }

  /** Looks at the reads in doubt; answers the next one that a write covers wholly, or −1 when all are settled. */
  resolveNext(): number {
    while (this.pending > 0) {
      const read = this.suspects[--this.pending]!;
      this.suspect[read] = 0;
      if (this.covered(read)) return read;
      this.waitForWrites(read);
    }
    return -1;
  }

  /** A write has gone: reads that waited for it wait for one less. */
  left(write: number): void {
    if (this.waiting === 0) return;
    const { queue } = this;
    for (let read = queue.first[this.list(write, 0)]!; read >= 0;) {
      const next = queue.next[read]!;
      if (queue.overlaps[read]! > 0 && this.concerns(write, read) && this.overlap(write, read)) {
        queue.overlaps[read]!--;
        this.waiting--;
        queue.unhide(read);
      }
      read = next;
    }
  }

  private doubt(read: number): void {
    if (this.suspect[read] === 1) return;
    this.suspect[read] = 1;
    this.suspects[this.pending++] = read;
    this.queue.hide(read);
  }

  private covered(read: number): boolean {
    const { queue } = this;
    // one that waits for its turn in ID order as well is not answered out of it
    if (queue.waits[read]! > 1) return false;
    for (let it = queue.first[this.list(read, 1)]!; it >= 0; it = queue.next[it]!) {
      if (this.concerns(it, read) && queue.low[it]! <= queue.low[read]! && queue.high[it]! >= queue.high[read]!)
        return true;
    }
    return false;
  }

  private waitForWrites(read: number): void {
    const { queue } = this;
    for (let it = queue.first[this.list(read, 1)]!; it >= 0;) {
      const next = queue.next[it]!;
      if (this.concerns(it, read) && this.overlap(it, read)) {
        queue.overlaps[read]!++;
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
  private needWrites(read: number): void {
    const { queue } = this;
    for (let it = queue.first[this.list(read, 1)]!; it >= 0;) {
      const next = queue.next[it]!;
      if (this.concerns(it, read) && this.overlap(it, read)) queue.need(it);
      it = next;
    }
  }

  /**
   * Is the write to the same DRAM burst, and was it there before the read, or came with it? In order, a write that came
   * with it and stands behind it does not count: it must let the read go first.
   */
  private concerns(write: number, read: number): boolean {
    const { enteredAt, age } = this.queue;
    if (!this.samePlace(write, read)) return false;
    const later = enteredAt[write]! - enteredAt[read]!;
    return later < 0 || (later === 0 && (!this.inOrder || age[write]! < age[read]!));
  }

  private samePlace(a: number, b: number): boolean {
    const { row, column } = this.queue;
    return row[a] === row[b] && column[a] === column[b];
  }

  private overlap(a: number, b: number): boolean {
    const { low, high } = this.queue;
    return low[a]! < high[b]! && low[b]! < high[a]!;
  }

  private list(access: number, direction: number): number {
    return direction * this.queue.banks + this.queue.bank[access]!;
  }
}
