// Hot path: some ten links per burst. Links lie in typed arrays, so many a chain; what a link says is one number, so that
// two are compared at once. Growth is by doubling in one place.

import { widen } from '../../model/bursts.js';

/** Links that a chain has room for at first. */
const ROOM = 16;

/** How a link's number is made up: its part, its element, its culprit (from −2 on). */
const ELEMENT_SHIFT = 4;
const CULPRIT_SHIFT = 16;
export const MOST_ELEMENTS = 1 << (CULPRIT_SHIFT - ELEMENT_SHIFT);
const LOWEST_CULPRIT = -2;

/**
 * Chains of intervals that follow one another without gap, each with its part of a burst's time, who is to blame for it
 * (where it is waiting) and at which element. A chain is a slot, such as a burst's; times are in ps.
 */
export class Chains {
  /** Links that were to end before the one in front of them: milestones out of order, a fault of the model or the recorder. */
  faults = 0;
  private room = ROOM;
  private capacity = 0;
  private counts = new Int32Array(0);
  private starts = new Float64Array(0);
  private ends = new Float64Array(0);
  /** Links up to the mark, −1 for none, and where the chain ended then. */
  private marks = new Int32Array(0);
  private markEnds = new Float64Array(0);
  private untils = new Float64Array(0);
  private keys = new Int32Array(0);

  /** Begins a chain anew, at `fromPs`. */
  start(slot: number, fromPs: number): void {
    if (slot >= this.capacity) this.grow(slot + 1);
    this.counts[slot] = 0;
    this.marks[slot] = -1;
    this.starts[slot] = fromPs;
    this.ends[slot] = fromPs;
  }

  /** Number of links. */
  count(slot: number): number {
    return this.counts[slot]!;
  }

  /** Where the chain begins, and where it ends so far. */
  from(slot: number): number {
    return this.starts[slot]!;
  }

  end(slot: number): number {
    return this.ends[slot]!;
  }

  /** Marks how far the chain is now; answers false where it was marked before. */
  mark(slot: number): boolean {
    if (this.marks[slot]! >= 0) return false;
    this.marks[slot] = this.counts[slot]!;
    this.markEnds[slot] = this.ends[slot]!;
    return true;
  }

  isMarked(slot: number): boolean {
    return this.marks[slot]! >= 0;
  }

  /** Cuts a chain back to its mark. */
  cutBack(slot: number): void {
    this.counts[slot] = this.marks[slot]!;
    this.ends[slot] = this.markEnds[slot]!;
  }

  /** The chain goes on until `untilPs`; nothing where it is there already. */
  add(slot: number, part: number, culprit: number, element: number, untilPs: number): void {
    if (untilPs < this.ends[slot]!) this.faults++;
    this.reach(slot, part, culprit, element, untilPs);
  }

  /** The same, but an instant that the chain has passed is no fault: there is nothing to add. */
  reach(slot: number, part: number, culprit: number, element: number, untilPs: number): void {
    if (untilPs <= this.ends[slot]!) return;
    this.ends[slot] = untilPs;
    const key = ((culprit - LOWEST_CULPRIT) << CULPRIT_SHIFT) | (element << ELEMENT_SHIFT) | part;
    const count = this.counts[slot]!;
    const next = slot * this.room + count;
    // a link in front of the mark stays as it is
    if (count > 0 && this.keys[next - 1] === key && count !== this.marks[slot]) this.untils[next - 1] = untilPs;
    else this.append(slot, count, key, untilPs);
  }

  /** Goes on with the links of chain `other` of `from`, as far as they lie after this one's end. */
  follow(slot: number, from: Chains, other: number): void {
    const links = from.counts[other]!;
    for (let link = 0; link < links; link++) {
      this.reach(
        slot,
        from.partOf(other, link),
        from.culpritOf(other, link),
        from.elementOf(other, link),
        from.untilOf(other, link),
      );
    }
  }

  /** End, part, culprit and element of a link. */
  untilOf(slot: number, link: number): number {
    return this.untils[slot * this.room + link]!;
  }

  partOf(slot: number, link: number): number {
    return this.keys[slot * this.room + link]! & ((1 << ELEMENT_SHIFT) - 1);
  }

  culpritOf(slot: number, link: number): number {
    return (this.keys[slot * this.room + link]! >> CULPRIT_SHIFT) + LOWEST_CULPRIT;
  }

  elementOf(slot: number, link: number): number {
    return (this.keys[slot * this.room + link]! >> ELEMENT_SHIFT) & (MOST_ELEMENTS - 1);
  }

  private append(slot: number, count: number, key: number, untilPs: number): void {
    if (count === this.room) this.lay(this.capacity, this.room * 2);
    const at = slot * this.room + count;
    this.keys[at] = key;
    this.untils[at] = untilPs;
    this.counts[slot] = count + 1;
  }

  private grow(least: number): void {
    let capacity = Math.max(64, this.capacity);
    while (capacity < least) capacity *= 2;
    this.lay(capacity, this.room);
  }

  private lay(capacity: number, room: number): void {
    const { untils, keys, room: old } = this;
    this.counts = widen(this.counts, new Int32Array(capacity));
    this.marks = widen(this.marks, new Int32Array(capacity));
    this.starts = widen(this.starts, new Float64Array(capacity));
    this.ends = widen(this.ends, new Float64Array(capacity));
    this.markEnds = widen(this.markEnds, new Float64Array(capacity));
    this.untils = new Float64Array(capacity * room);
    this.keys = new Int32Array(capacity * room);
    for (let slot = 0; slot < this.capacity; slot++) {
      const from = slot * old;
      this.untils.set(untils.subarray(from, from + this.counts[slot]!), slot * room);
      this.keys.set(keys.subarray(from, from + this.counts[slot]!), slot * room);
    }
    this.capacity = capacity;
    this.room = room;
  }
}
