// Hot path: some thirty steps per burst. What a link says is one number, so that two are compared at once; a chain is a
// record, since its fields are reached by one load each, and its last link is left open, so that a step writes two of them.
// Fields that hold times start as what is no whole number, so that they are doubles from the first.

/** Links that a chain has room for at first. */
const ROOM = 16;

/** How a link's number is made up: its part, its element, its culprit (from −2 on). */
const ELEMENT_SHIFT = 4;
const CULPRIT_SHIFT = 16;
export const MOST_ELEMENTS = 1 << (CULPRIT_SHIFT - ELEMENT_SHIFT);
const LOWEST_CULPRIT = -2;
/** The number of no link. */
const NONE = -1;

/**
 * Intervals that follow one another without gap, each with its part of a burst's time, who is to blame for it (where it is
 * waiting) and at which element. Times are in ps.
 */
export class Chain {
  /** Where it begins, and where it ends so far. */
  from = 0.5;
  end = 0.5;
  /** Number of links. */
  count = 0;
  /** Links up to the mark, −1 for none, and where the chain ended then. */
  markedCount = -1;
  /** What the last link says, or NONE where the next must be a new one. */
  private open = NONE;
  private markedEnd = 0.5;
  private keys = new Int32Array(ROOM);
  /** Where each link ends, but for the last. */
  private untils = new Float64Array(ROOM);

  start(fromPs: number): void {
    this.from = fromPs;
    this.end = fromPs;
    this.count = 0;
    this.markedCount = -1;
    this.open = NONE;
  }

  mark(): void {
    this.markedCount = this.count;
    this.markedEnd = this.end;
    // a link in front of the mark stays as it is
    this.open = NONE;
  }

  cutBack(): void {
    this.count = this.markedCount;
    this.end = this.markedEnd;
    this.open = NONE;
  }

  reach(key: number, untilPs: number): void {
    if (untilPs <= this.end) return;
    if (key !== this.open) this.append(key);
    this.end = untilPs;
  }

  /** Goes on with the links of another chain, as far as they lie after this one's end. */
  follow(other: Chain): void {
    this.followPart(other, other.count, other.end);
  }

  /** The same with its first links, of which the last then ended at `endPs`. */
  followPart(other: Chain, links: number, endPs: number): void {
    if (endPs <= this.end) return;
    const { keys, untils } = other;
    const last = links - 1;
    for (let link = 0; link < last; link++) this.reach(keys[link]!, untils[link]!);
    this.reach(keys[last]!, endPs);
  }

  /** Part of a link. */
  partOf(link: number): number {
    return this.keys[link]! & ((1 << ELEMENT_SHIFT) - 1);
  }

  culpritOf(link: number): number {
    return culpritOf(this.keys[link]!);
  }

  elementOf(link: number): number {
    return (this.keys[link]! >> ELEMENT_SHIFT) & (MOST_ELEMENTS - 1);
  }

  untilOf(link: number): number {
    return link === this.count - 1 ? this.end : this.untils[link]!;
  }

  /** Closes the last link where the chain ends, and begins another. */
  private append(key: number): void {
    const { count } = this;
    if (count > 0) this.untils[count - 1] = this.end;
    if (count === this.keys.length) this.widen();
    this.keys[count] = key;
    this.count = count + 1;
    this.open = key;
  }

  private widen(): void {
    const { keys, untils } = this;
    this.keys = new Int32Array(keys.length * 2);
    this.keys.set(keys);
    this.untils = new Float64Array(untils.length * 2);
    this.untils.set(untils);
  }
}

/** Chains by slot, such as a burst's. */
export class Chains {
  /** Links that were to end before the one in front of them: milestones out of order, a fault of the model or the recorder. */
  faults = 0;
  private readonly all: Chain[] = [];

  /** Begins a chain anew, at `fromPs`. */
  start(slot: number, fromPs: number): void {
    while (slot >= this.all.length) this.all.push(new Chain());
    this.all[slot]!.start(fromPs);
  }

  /** Where the chain ends so far. */
  end(slot: number): number {
    return this.all[slot]!.end;
  }

  /** Marks how far the chain is now; answers false where it was marked before. */
  mark(slot: number): boolean {
    if (this.isMarked(slot)) return false;
    this.all[slot]!.mark();
    return true;
  }

  isMarked(slot: number): boolean {
    return this.all[slot]!.markedCount >= 0;
  }

  /** Cuts a chain back to its mark. */
  cutBack(slot: number): void {
    this.all[slot]!.cutBack();
  }

  /** The chain goes on until `untilPs`; nothing where it is there already. */
  add(slot: number, part: number, culprit: number, element: number, untilPs: number): void {
    if (untilPs < this.all[slot]!.end) this.faults++;
    this.reach(slot, part, culprit, element, untilPs);
  }

  /** The same, but an instant that the chain has passed is no fault: there is nothing to add. */
  reach(slot: number, part: number, culprit: number, element: number, untilPs: number): void {
    this.all[slot]!.reach(keyOf(part, culprit, element), untilPs);
  }

  /** Goes on with the links of chain `other` of `from`, as far as they lie after this one's end. */
  follow(slot: number, from: Chains, other: number): void {
    this.all[slot]!.follow(from.all[other]!);
  }

  /** The chain itself, for who reads it or takes many steps at once. */
  of(slot: number): Chain {
    return this.all[slot]!;
  }
}

/** The culprit that such a number tells of. */
export function culpritOf(key: number): number {
  return (key >> CULPRIT_SHIFT) + LOWEST_CULPRIT;
}

/** What a link is about, as one number: part 0 makes it who is to blame and where, to which any part can be added. */
export function keyOf(part: number, culprit: number, element: number): number {
  return ((culprit - LOWEST_CULPRIT) << CULPRIT_SHIFT) | (element << ELEMENT_SHIFT) | part;
}
