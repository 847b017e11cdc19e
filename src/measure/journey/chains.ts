// Hot path: some ten links per burst. Links lie in typed arrays, so many a chain; growth is by doubling in one place.

/** Links that a chain has room for at first. */
const ROOM = 16;

/**
 * Chains of intervals that follow one another without gap, each with its part of a burst's time, who is to blame for it
 * (where it is waiting) and at which element. A chain is a slot, such as a burst's; times are in ps.
 */
export class Chains {
  private room = ROOM;
  private capacity = 0;
  private counts = new Int32Array(0);
  /** Links up to the mark; −1: there is none. */
  private marks = new Int32Array(0);
  private starts = new Float64Array(0);
  private untils = new Float64Array(0);
  private parts = new Uint8Array(0);
  private culprits = new Int32Array(0);
  private elements = new Int32Array(0);
  /** Links that were to end before the one in front of them: milestones out of order, a fault of the model or the recorder. */
  faults = 0;

  /** Begins a chain anew, at `fromPs`. */
  start(slot: number, fromPs: number): void {
    if (slot >= this.capacity) this.grow(slot + 1);
    this.counts[slot] = 0;
    this.marks[slot] = -1;
    this.starts[slot] = fromPs;
  }

  /** Number of links. */
  count(slot: number): number {
    return this.counts[slot]!;
  }

  /** Where the chain begins. */
  from(slot: number): number {
    return this.starts[slot]!;
  }

  /** Where the chain ends so far. */
  end(slot: number): number {
    const count = this.counts[slot]!;
    return count === 0 ? this.starts[slot]! : this.untils[slot * this.room + count - 1]!;
  }

  /** Marks how far the chain is now; answers false where it was marked before. */
  mark(slot: number): boolean {
    if (this.marks[slot]! >= 0) return false;
    this.marks[slot] = this.counts[slot]!;
    return true;
  }

  isMarked(slot: number): boolean {
    return this.marks[slot]! >= 0;
  }

  /** Cuts a chain back to its mark. */
  cutBack(slot: number): void {
    this.counts[slot] = this.marks[slot]!;
  }

  /** The chain goes on until `untilPs`; nothing where it is there already. */
  add(slot: number, part: number, culprit: number, element: number, untilPs: number): void {
    const end = this.end(slot);
    if (untilPs <= end) {
      if (untilPs < end) this.faults++;
      return;
    }
    const count = this.counts[slot]!;
    // a link in front of the mark stays as it is
    if (count > 0 && count !== this.marks[slot]) {
      const last = slot * this.room + count - 1;
      if (this.parts[last] === part && this.culprits[last] === culprit && this.elements[last] === element) {
        this.untils[last] = untilPs;
        return;
      }
    }
    if (count === this.room) this.widen();
    const at = slot * this.room + count;
    this.parts[at] = part;
    this.culprits[at] = culprit;
    this.elements[at] = element;
    this.untils[at] = untilPs;
    this.counts[slot] = count + 1;
  }

  /** The same, but an instant that the chain has passed is no fault: there is nothing to add. */
  reach(slot: number, part: number, culprit: number, element: number, untilPs: number): void {
    if (untilPs > this.end(slot)) this.add(slot, part, culprit, element, untilPs);
  }

  /** Goes on with the links of chain `other` of `from`, as far as they lie after this one's end. */
  follow(slot: number, from: Chains, other: number): void {
    for (let link = 0; link < from.count(other); link++) {
      const at = other * from.room + link;
      this.reach(slot, from.parts[at]!, from.culprits[at]!, from.elements[at]!, from.untils[at]!);
    }
  }

  /** End, part, culprit and element of a link. */
  untilOf(slot: number, link: number): number {
    return this.untils[slot * this.room + link]!;
  }

  partOf(slot: number, link: number): number {
    return this.parts[slot * this.room + link]!;
  }

  culpritOf(slot: number, link: number): number {
    return this.culprits[slot * this.room + link]!;
  }

  elementOf(slot: number, link: number): number {
    return this.elements[slot * this.room + link]!;
  }

  private grow(least: number): void {
    let capacity = Math.max(64, this.capacity);
    while (capacity < least) capacity *= 2;
    this.lay(capacity, this.room);
  }

  private widen(): void {
    this.lay(this.capacity, this.room * 2);
  }

  private lay(capacity: number, room: number): void {
    const { counts, marks, starts, untils, parts, culprits, elements, room: old } = this;
    this.counts = new Int32Array(capacity);
    this.counts.set(counts);
    this.marks = new Int32Array(capacity);
    this.marks.set(marks);
    this.starts = new Float64Array(capacity);
    this.starts.set(starts);
    this.untils = new Float64Array(capacity * room);
    this.parts = new Uint8Array(capacity * room);
    this.culprits = new Int32Array(capacity * room);
    this.elements = new Int32Array(capacity * room);
    for (let slot = 0; slot < this.capacity; slot++) {
      const from = slot * old;
      const to = from + counts[slot]!;
      this.untils.set(untils.subarray(from, to), slot * room);
      this.parts.set(parts.subarray(from, to), slot * room);
      this.culprits.set(culprits.subarray(from, to), slot * room);
      this.elements.set(elements.subarray(from, to), slot * room);
    }
    this.capacity = capacity;
    this.room = room;
  }
}
