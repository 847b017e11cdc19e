// Hot path: see `calendar.ts`. What is due soon hangs in slots, linked through the carriers' own records, one way only: a link
// costs its store and a word to the collector.
import { before, Place, type Carrier } from './carrier.js';
import { SlotSorter } from './slot-sorter.js';

// constants of the file: an import is loaded and checked at each use
const { none: NONE, wheel: WHEEL } = Place;

/** A slot holds 32 ps, the wheel 262 ns. */
const SLOT_PS = 32;
const SLOTS = 8192;
const WORDS = SLOTS / 32;
const GROUPS = WORDS / 32;
/** Who would be walked further than this to its place in a slot is not: the slot is sorted when its turn comes. */
const LONGEST_WALK = 12;

/** What is due sooner than this from now has a place in the wheel. */
export const REACH_PS = (SLOTS - 1) * SLOT_PS;

/** Carriers that are due within `REACH_PS`, by slots of 32 ps: linked by `later`, in order unless the slot is loose. */
export class Wheel {
  /** Carriers in it. */
  count = 0;
  /** By slot: its first carrier and its last. Arrays, as records of slots would fill more of the cache. */
  private readonly firsts = Array.from<unknown, Carrier | null>({ length: SLOTS }, () => null);
  private readonly lasts = Array.from<unknown, Carrier | null>({ length: SLOTS }, () => null);
  /** A bit for each slot whose carriers hang as they came. */
  private readonly loose = new Int32Array(WORDS);
  private looseSlots = 0;
  /** A bit for each slot in use, and one for each word of these that is not zero. */
  private readonly used = new Int32Array(WORDS);
  private readonly groups = new Int32Array(GROUPS);
  /** The slot that `first` found the first carrier in. */
  private firstSlot = 0;
  private readonly sorter = new SlotSorter();

  /** The carrier that is due first; the wheel is not empty, and nothing in it is due before `nowPs`. */
  first(nowPs: number): Carrier {
    const start = Math.floor(nowPs / SLOT_PS) & (SLOTS - 1);
    let word = start >>> 5;
    // slots of this word that lie before the start are a whole turn away: they come round as its last word
    let bits = this.used[word]! & (-1 << (start & 31));
    if (bits === 0) {
      word = this.nextWord((word + 1) & (WORDS - 1));
      bits = this.used[word]!;
    }
    this.firstSlot = (word << 5) | lowestBit(bits);
    if (this.looseSlots > 0) this.tidy(this.firstSlot);
    return this.firsts[this.firstSlot]!;
  }

  /** The first word from one on, all the way round, that is not zero. */
  private nextWord(from: number): number {
    let group = from >>> 5;
    let words = this.groups[group]! & (-1 << (from & 31));
    while (words === 0) {
      group = (group + 1) & (GROUPS - 1);
      words = this.groups[group]!;
    }
    return (group << 5) | lowestBit(words);
  }

  /** Links a carrier into its slot; false if it is for the heap. */
  put(it: Carrier): boolean {
    const slot = Math.floor(it.due / SLOT_PS) & (SLOTS - 1);
    const last = this.lasts[slot]!;
    // most slots are empty, or what comes goes behind what is there
    if (last === null || before(last, it) || this.isLoose(slot)) this.append(it, slot, last);
    else if (!this.insert(it, slot, last)) return false;
    it.slot = slot;
    it.place = WHEEL;
    this.count++;
    return true;
  }

  private append(it: Carrier, slot: number, last: Carrier | null): void {
    if (last === null) {
      this.firsts[slot] = it;
      this.use(slot);
    } else {
      last.later = it;
    }
    this.lasts[slot] = it;
    it.later = null;
  }

  /**
   * Links a carrier in before the last of its slot: in its place if that is near, else behind all others, unless the slot is
   * being handled: it would be sorted again and again.
   */
  private insert(it: Carrier, slot: number, last: Carrier): boolean {
    let sooner: Carrier | null = null;
    let later = this.firsts[slot]!;
    for (let steps = 0; before(later, it); steps++) {
      if (steps === LONGEST_WALK) {
        if (slot === this.firstSlot) return false;
        this.loose[slot >>> 5]! |= 1 << (slot & 31);
        this.looseSlots++;
        this.append(it, slot, last);
        return true;
      }
      sooner = later;
      later = later.later!;
    }
    if (sooner === null) this.firsts[slot] = it;
    else sooner.later = it;
    it.later = later;
    return true;
  }

  /** Takes out the carrier that `first` has just found: it stands at the head of its slot. */
  takeFirst(it: Carrier): void {
    const { firstSlot } = this;
    const { later } = it;
    it.place = NONE;
    this.count--;
    this.firsts[firstSlot] = later;
    if (later !== null) return;
    this.lasts[firstSlot] = null;
    this.unuse(firstSlot);
  }

  /** Takes out any carrier, after a walk to it: few share a slot. */
  take(it: Carrier): void {
    const { slot } = it;
    it.place = NONE;
    this.count--;
    let sooner: Carrier | null = null;
    for (let other = this.firsts[slot]!; other !== it; other = other.later!) sooner = other;
    if (this.lasts[slot] === it) this.lasts[slot] = sooner;
    if (sooner !== null) {
      sooner.later = it.later;
      return;
    }
    this.firsts[slot] = it.later;
    if (it.later !== null) return;
    if (this.isLoose(slot)) this.tighten(slot);
    this.unuse(slot);
  }

  private use(slot: number): void {
    const word = slot >>> 5;
    this.used[word]! |= 1 << (slot & 31);
    this.groups[word >>> 5]! |= 1 << (word & 31);
  }

  private unuse(slot: number): void {
    const word = slot >>> 5;
    const left = this.used[word]! & ~(1 << (slot & 31));
    this.used[word] = left;
    if (left === 0) this.groups[word >>> 5]! &= ~(1 << (word & 31));
  }

  private isLoose(slot: number): boolean {
    return this.looseSlots > 0 && (this.loose[slot >>> 5]! & (1 << (slot & 31))) !== 0;
  }

  private tighten(slot: number): void {
    this.loose[slot >>> 5]! &= ~(1 << (slot & 31));
    this.looseSlots--;
  }

  /** Sorts a slot whose turn has come. */
  private tidy(slot: number): void {
    if (!this.isLoose(slot)) return;
    this.tighten(slot);
    let last = this.sorter.sort(this.firsts[slot]!);
    this.firsts[slot] = last;
    while (last.later !== null) last = last.later;
    this.lasts[slot] = last;
  }
}

function lowestBit(bits: number): number {
  return 31 - Math.clz32(bits & -bits);
}
