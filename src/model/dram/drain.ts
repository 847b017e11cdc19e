import type { DdrSpec } from '../../scenario/scenario.js';
import type { AccessQueue } from './access-queue.js';
import { Direction } from './bank-state.js';
import type { Side } from './side.js';

const { read: READ, write: WRITE } = Direction;

/** Why writes are being drained. */
const Reason = { highMark: 0, idle: 1, needed: 2 } as const;

/**
 * Which direction is served. Reads go first; a drain of writes starts at the high mark, or when no read can be served,
 * or when a read waits for a write it overlaps. It stops at the low mark; one that started idle stops when a read is
 * there and `min_drain` writes have gone. A read past the cap ends a drain too, after `min_drain` writes; then no drain
 * starts while a read is past the cap, or until `min_drain` reads have gone: neither direction can starve the other.
 */
export class Drain {
  direction: number = READ;
  private reason: number = Reason.idle;
  /** Column commands since the last change of direction. */
  private done = 0;
  /** Has the cap ended the last drain, so that reads have their turn first? */
  private readsFirst = false;
  private readonly highMark: number;
  private readonly reads: Side;
  private readonly writes: Side;

  constructor(
    private readonly spec: DdrSpec,
    private readonly queue: AccessQueue,
  ) {
    this.reads = queue.reads;
    this.writes = queue.writes;
    this.highMark = Math.min(spec.highMark, spec.writeEntries);
  }

  /** Would the direction change, judged at `clock`? */
  changesAt(clock: number): boolean {
    return this.direction === WRITE ? this.stops(clock) : this.reasonToStart(clock) >= 0;
  }

  /** Judges at `clock` which direction is served from now on. */
  update(clock: number): void {
    if (this.direction === WRITE && this.stops(clock)) {
      this.readsFirst = this.reason !== Reason.needed && this.cutShort(clock);
      this.turnTo(READ, Reason.idle);
    }
    if (this.direction === READ) {
      const reason = this.reasonToStart(clock);
      if (reason >= 0) this.turnTo(WRITE, reason);
    }
  }

  /** A column command of the direction being served was issued. */
  served(): void {
    this.done++;
  }

  /** The clock at which a read's age may end the drain, or Infinity. */
  capAt(): number {
    if (this.direction === READ) return Infinity;
    const read = this.reads.oldestVisible();
    return read === null ? Infinity : read.capAt;
  }

  private stops(clock: number): boolean {
    const { queue, reads, writes, spec } = this;
    if (writes.visible === 0) return true;
    if (this.reason === Reason.needed) return queue.needed === 0;
    // with no read there it starts again at once, as an idle one
    if (this.reason === Reason.highMark && writes.queued <= spec.lowMark) return true;
    if (reads.visible === 0) return false;
    return this.cutShort(clock) || (this.reason === Reason.idle && this.done >= spec.minDrain);
  }

  private cutShort(clock: number): boolean {
    return this.done >= this.spec.minDrain && this.readPastCap(clock);
  }

  private reasonToStart(clock: number): number {
    const { queue, reads, writes, spec } = this;
    if (writes.visible === 0) return -1;
    if (reads.visible === 0) return queue.needed > 0 ? Reason.needed : Reason.idle;
    if (this.readsFirst && this.done < spec.minDrain && this.readPastCap(clock)) return -1;
    if (queue.needed > 0) return Reason.needed;
    return this.atHighMark() ? Reason.highMark : -1;
  }

  private atHighMark(): boolean {
    return this.writes.queued >= this.highMark;
  }

  private readPastCap(clock: number): boolean {
    const read = this.reads.oldestVisible();
    return read !== null && read.capAt <= clock;
  }

  private turnTo(direction: number, reason: number): void {
    this.direction = direction;
    this.reason = reason;
    this.done = 0;
  }
}
