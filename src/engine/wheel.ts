// Hot path: see `calendar.ts`. What is due soon hangs in slots, linked through the carriers' own records.
import { before, Place, type Carrier } from './carrier.js';
import { SlotSorter } from './slot-sorter.js';

// constants of the file: an import is loaded and checked at each use
const { none: NONE, wheel: WHEEL } = Place;

/** A slot holds 64 ps, the wheel 262 ns. */
const SLOT_PS = 64;
const SLOTS = 4096;
const WORDS = SLOTS / 32;
/** Who would be walked further than this to its place in a slot is not: the slot is sorted when its turn comes. */
const LONGEST_WALK = 12;

/** What is due sooner than this from now has a place in the wheel. */
export const REACH_PS = (SLOTS - 1) * SLOT_PS;

/** Carriers that are due within `REACH_PS`, by slots of 64 ps. */
export class Wheel {
  /** Carriers in it. */
  count = 0;
  /** By slot: its first carrier and its last, side by side. */
  private readonly ends = Array.from<unknown, Carrier | null>({ length: 2 * SLOTS }, () => null);
  /** A bit for each slot in use, and one for each whose carriers hang as they came. */
  private readonly used = new Int32Array(WORDS);
  private readonly loose = new Int32Array(WORDS);
  private looseSlots = 0;
  /** The slot that `first` found the first carrier in. */
  private firstSlot = 0;
  private readonly sorter = new SlotSorter();

  /** The carrier that is due first; the wheel is not empty, and nothing in it is due before `nowPs`. */
  first(nowPs: number): Carrier {
    const { used } = this;
    const start = Math.floor(nowPs / SLOT_PS) & (SLOTS - 1);
    let word = start >>> 5;
    // slots of this word that lie before the start are a whole turn away: they come round as its last word
    let bits = used[word]! & (-1 << (start & 31));
    while (bits === 0) {
      word = (word + 1) & (WORDS - 1);
      bits = used[word]!;
    }
    const slot = (word << 5) | (31 - Math.clz32(bits & -bits));
    this.firstSlot = slot;
    if (this.looseSlots > 0) this.tidy(slot);
    return this.ends[2 * slot]!;
  }

  /** Links a carrier into its slot, in order from the back; false if it is for the heap. */
  put(it: Carrier): boolean {
    const { ends } = this;
    const slot = slotOf(it);
    let sooner: Carrier | null = ends[2 * slot + 1]!;
    let later: Carrier | null = null;
    // most slots are empty, or what comes goes behind what is there
    for (let steps = 0; sooner !== null && before(it, sooner); steps++) {
      if (steps === LONGEST_WALK || this.isLoose(slot)) return this.putLoosely(it, slot);
      later = sooner;
      sooner = sooner.sooner;
    }
    this.link(it, slot, sooner, later);
    return true;
  }

  /** Hangs a carrier behind all others of a crowded slot, unless that is being handled: it would be sorted again and again. */
  private putLoosely(it: Carrier, slot: number): boolean {
    if (!this.isLoose(slot)) {
      if (slot === this.firstSlot) return false;
      this.loose[slot >>> 5]! |= 1 << (slot & 31);
      this.looseSlots++;
    }
    this.link(it, slot, this.ends[2 * slot + 1]!, null);
    return true;
  }

  private link(it: Carrier, slot: number, sooner: Carrier | null, later: Carrier | null): void {
    it.slot = slot;
    it.sooner = sooner;
    it.later = later;
    if (later === null) this.ends[2 * slot + 1] = it;
    else later.sooner = it;
    if (sooner === null) {
      this.ends[2 * slot] = it;
      this.used[slot >>> 5]! |= 1 << (slot & 31);
    } else {
      sooner.later = it;
    }
    it.place = WHEEL;
    this.count++;
  }

  /** Takes out the carrier that `first` has just found: it stands at the head of its slot. */
  takeFirst(it: Carrier): void {
    const { ends, firstSlot } = this;
    const { later } = it;
    it.place = NONE;
    this.count--;
    ends[2 * firstSlot] = later;
    if (later === null) {
      ends[2 * firstSlot + 1] = null;
      this.used[firstSlot >>> 5]! &= ~(1 << (firstSlot & 31));
    } else {
      later.sooner = null;
    }
  }

  /** Takes out any carrier. */
  take(it: Carrier): void {
    const { sooner, later, slot } = it;
    it.place = NONE;
    this.count--;
    if (later === null) this.ends[2 * slot + 1] = sooner;
    else later.sooner = sooner;
    if (sooner === null) this.ends[2 * slot] = later;
    else sooner.later = later;
    if (sooner === null && later === null) this.used[slot >>> 5]! &= ~(1 << (slot & 31));
  }

  private isLoose(slot: number): boolean {
    return this.looseSlots > 0 && (this.loose[slot >>> 5]! & (1 << (slot & 31))) !== 0;
  }

  /** Sorts a slot whose turn has come. */
  private tidy(slot: number): void {
    if (!this.isLoose(slot)) return;
    this.loose[slot >>> 5]! &= ~(1 << (slot & 31));
    this.looseSlots--;
    const first = this.sorter.sort(this.ends[2 * slot]!);
    let last: Carrier | null = null;
    for (let it: Carrier | null = first; it !== null; it = it.later) {
      it.sooner = last;
      last = it;
    }
    this.ends[2 * slot] = first;
    this.ends[2 * slot + 1] = last;
  }
}

function slotOf(it: Carrier): number {
  return Math.floor(it.due / SLOT_PS) & (SLOTS - 1);
}
