// Hot path: one entry per grant, a short walk per wait. Entries lie in a ring of typed arrays.

import type { Calendar } from '../../engine/calendar.js';

const FIRST_SIZE = 64;
const LARGEST_SIZE = 65_536;
/** A full ring grows rather than forget what is younger than this. */
const KEPT_PS = 50_000_000;

/** Why somebody had to wait at one place, or who had it, for the recent past: intervals in order of time, none overlapping. */
export class UseLog {
  private from = new Float64Array(FIRST_SIZE);
  private to = new Float64Array(FIRST_SIZE);
  private who = new Int32Array(FIRST_SIZE);
  private where = new Int32Array(FIRST_SIZE);
  /** The burst, where it matters that a burst does not wait for itself; else −1. */
  private slots = new Int32Array(FIRST_SIZE);
  /** Entries ever made; entry n is at n modulo the size. */
  private made = 0;
  /** The instant at which the last was made, and how many there were before it. */
  private lastPs = -1;
  private earlier = 0;

  constructor(private readonly calendar: Calendar) {}

  /** Until when the last entry lasts. */
  get end(): number {
    return this.made === 0 ? -Infinity : this.to[(this.made - 1) & (this.to.length - 1)]!;
  }

  /** `who` had the place, or was to blame, at element `where` until `toPs`; from the last entry's end where that is later. */
  add(fromPs: number, toPs: number, who: number, where: number, slot: number): void {
    const { end } = this;
    const begins = fromPs > end ? fromPs : end;
    if (toPs <= begins) return;
    const { now } = this.calendar;
    if (now !== this.lastPs) {
      this.lastPs = now;
      this.earlier = this.made;
    }
    if (this.made >= this.to.length && this.to.length < LARGEST_SIZE) {
      if (toPs - this.to[this.made & (this.to.length - 1)]! < KEPT_PS) this.grow();
    }
    const at = this.made++ & (this.to.length - 1);
    this.from[at] = begins;
    this.to[at] = toPs;
    this.who[at] = who;
    this.where[at] = where;
    this.slots[at] = slot;
  }

  /** Number of the first entry that is kept and lasts beyond `timePs`, or of the next one to come. */
  firstAfter(timePs: number): number {
    const mask = this.to.length - 1;
    const oldest = this.made > this.to.length ? this.made - this.to.length : 0;
    let n = this.made;
    while (n > oldest && this.to[(n - 1) & mask]! > timePs) n--;
    return n;
  }

  /** Number after that of the last entry. */
  get next(): number {
    return this.made;
  }

  /** The same of those made before this instant: which others there are by now is a matter of the order of events. */
  get nextEarlier(): number {
    return this.lastPs === this.calendar.now ? this.earlier : this.made;
  }

  /** Is there such an entry, and is it remembered still? */
  isKept(entry: number): boolean {
    return entry >= 0 && entry >= this.made - this.to.length;
  }

  fromOf(entry: number): number {
    return this.from[entry & (this.to.length - 1)]!;
  }

  toOf(entry: number): number {
    return this.to[entry & (this.to.length - 1)]!;
  }

  whoOf(entry: number): number {
    return this.who[entry & (this.to.length - 1)]!;
  }

  whereOf(entry: number): number {
    return this.where[entry & (this.to.length - 1)]!;
  }

  slotOf(entry: number): number {
    return this.slots[entry & (this.to.length - 1)]!;
  }

  private grow(): void {
    const old = this.to.length;
    const size = old * 2;
    const { from, to, who, where, slots } = this;
    this.from = new Float64Array(size);
    this.to = new Float64Array(size);
    this.who = new Int32Array(size);
    this.where = new Int32Array(size);
    this.slots = new Int32Array(size);
    for (let n = Math.max(0, this.made - old); n < this.made; n++) {
      const before = n & (old - 1);
      const at = n & (size - 1);
      this.from[at] = from[before]!;
      this.to[at] = to[before]!;
      this.who[at] = who[before]!;
      this.where[at] = where[before]!;
      this.slots[at] = slots[before]!;
    }
  }
}
