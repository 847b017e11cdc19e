// Hot path: some ten entries per burst, read only for bursts that are charged. Entries lie in a ring of two typed arrays, as
// each array that is reached costs three loads.
import type { Calendar } from '../../engine/calendar.js';
import type { Charges } from './charges.js';
import { culpritOf, keyOf } from './chains.js';

const FIRST_SIZE = 64;
const LARGEST_SIZE = 65_536;
/** A ring grows that was filled in less than this. */
const KEPT_PS = 50_000_000;

/** Of an entry in `times`: from when and until when. */
const TIMES = 2;
/** And in `facts`: who is to blame where (see `keyOf`), the burst; the logs that say more, and up to which of their entries. */
const FACTS = 8;
const SLOT = 1;
const FIRST = 2;
const FIRST_END = 3;
const SECOND = 4;
const SECOND_END = 5;
/** No log. */
const NONE = -1;

/**
 * Why somebody had to wait at one place, or who had it, for the recent past: intervals in order of time, none overlapping.
 * An entry names who is to blame, or the log of another place that knows: whoever heads a queue waits for who has the output,
 * so that whoever is behind waits for that as well. What that log held when the entry was made is what counts, whenever it is
 * read: so nothing need be copied, and nothing is looked up for bursts that nobody asks about.
 */
export class UseLog {
  /** Its number among the logs of one recorder. */
  private readonly number: number;
  private times = new Float64Array(TIMES * FIRST_SIZE);
  private facts = new Int32Array(FACTS * FIRST_SIZE);
  private mask = FIRST_SIZE - 1;
  /** Entries ever made; entry n is at n modulo the size. */
  private made = 0;
  /** Until when the last entry lasts; starts as no whole number, so that it is a double from the first. */
  private endPs = -0.5;
  /** The instant at which the last was made, and how many there were before it. */
  private lastPs = -0.5;
  private earlier = 0;

  /** Who had the place last while no notes were taken, from when until when, and when that was known; see `keyOf`. */
  private heldFromPs = -0.5;
  private heldUntilPs = -0.5;
  private heldSincePs = -0.5;
  private heldKey = 0;
  private heldSlot = NONE;

  /** @param all the logs of one recorder, to which it adds itself: entries name others by their number */
  constructor(
    private readonly calendar: Calendar,
    private readonly all: UseLog[],
  ) {
    this.number = all.push(this) - 1;
  }

  /** Until when the last entry lasts; before all times where there is none. */
  get end(): number {
    return this.endPs;
  }

  /** `who` had the place, or was to blame, at element `where` until `toPs`; from the last entry's end where that is later. */
  add(fromPs: number, toPs: number, who: number, where: number, slot: number): void {
    if (toPs <= this.endPs || toPs <= fromPs) return;
    const at = this.enter(keyOf(0, who, where), slot);
    this.facts[at + FIRST] = NONE;
    this.setTimes(fromPs, toPs);
  }

  /** The same while no notes are taken: of such uses only the last is kept, which may come to matter. */
  hold(fromPs: number, toPs: number, who: number, where: number, slot: number): void {
    this.heldSincePs = this.calendar.now;
    this.heldFromPs = fromPs;
    this.heldUntilPs = toPs;
    this.heldKey = keyOf(0, who, where);
    this.heldSlot = slot;
  }

  /** From now on notes are taken; who had the place last is noted at once, as if it had been in its time. */
  open(): void {
    this.noteLate(this.heldFromPs, this.heldUntilPs, this.heldSincePs, this.heldKey, this.heldSlot);
  }

  /** The same for a use of which whoever calls has kept account. */
  resume(fromPs: number, toPs: number, sincePs: number, who: number, where: number): void {
    this.noteLate(fromPs, toPs, sincePs, keyOf(0, who, where), NONE);
  }

  /**
   * Meanwhile whoever `first` names is to blame, by the entries that it has; where it names nobody, whoever `second` does by
   * what it held before this instant, as what its place does now may come to be known before or after; else `who` at `where`.
   */
  refer(fromPs: number, toPs: number, first: UseLog, second: UseLog | null, who: number, where: number): void {
    if (toPs <= this.endPs || toPs <= fromPs) return;
    const at = this.enter(keyOf(0, who, where), NONE);
    const { facts } = this;
    facts[at + FIRST] = first.number;
    facts[at + FIRST_END] = first.made;
    facts[at + SECOND] = second === null ? NONE : second.number;
    if (second !== null) facts[at + SECOND_END] = second.nextEarlier;
    this.setTimes(fromPs, toPs);
  }

  /** Charges until `untilPs`, from where the charges end so far, whoever this log names; where nobody, `who` at `where`. */
  tell(charges: Charges, untilPs: number, who: number, where: number): void {
    this.tellFrom(charges, this.firstAfter(charges.at, this.made), this.made, untilPs, keyOf(0, who, where));
  }

  /** The same by what it held before this instant, for a place whose events of this instant may be yet to come. */
  tellEarlier(charges: Charges, untilPs: number, who: number, where: number): void {
    const end = this.nextEarlier;
    this.tellFrom(charges, this.firstAfter(charges.at, end), end, untilPs, keyOf(0, who, where));
  }

  /**
   * By the entries from number `first` up to `end`; where they name nobody, as `key` says. Answers the number of the entry at
   * which it is done.
   */
  private tellFrom(charges: Charges, first: number, end: number, untilPs: number, key: number): number {
    let entry = first;
    for (; entry < end; entry++) {
      const from = this.times[TIMES * (entry & this.mask)]!;
      if (from >= untilPs) break;
      if (from > charges.at) charges.add(key, from);
      this.tellEntry(charges, entry, untilPs);
      if (charges.at >= untilPs) return entry;
    }
    charges.add(key, untilPs);
    return entry;
  }

  private tellTwo(
    charges: Charges,
    end: number,
    second: UseLog,
    secondEnd: number,
    untilPs: number,
    key: number,
  ): void {
    let next = second.firstAfter(charges.at, secondEnd);
    for (let entry = this.firstAfter(charges.at, end); entry < end; entry++) {
      const from = this.times[TIMES * (entry & this.mask)]!;
      if (from >= untilPs) break;
      if (from > charges.at) next = second.tellFrom(charges, next, secondEnd, from, key);
      this.tellEntry(charges, entry, untilPs);
      if (charges.at >= untilPs) return;
    }
    second.tellFrom(charges, next, secondEnd, untilPs, key);
  }

  /** By one entry, as long as it lasts or until `untilPs`: whoever it names, or the log that it names. */
  private tellEntry(charges: Charges, entry: number, untilPs: number): void {
    const { facts, all } = this;
    const to = this.times[TIMES * (entry & this.mask) + 1]!;
    if (to <= charges.at) return;
    const until = to < untilPs ? to : untilPs;
    const at = FACTS * (entry & this.mask);
    const key = facts[at]!;
    if (facts[at + FIRST] === NONE) {
      charges.add(key, until);
      return;
    }
    const first = all[facts[at + FIRST]!]!;
    const end = facts[at + FIRST_END]!;
    if (facts[at + SECOND] === NONE) first.tellFrom(charges, first.firstAfter(charges.at, end), end, until, key);
    else first.tellTwo(charges, end, all[facts[at + SECOND]!]!, facts[at + SECOND_END]!, until, key);
  }

  /** Number of the first entry before number `end` that is kept and lasts beyond `timePs`; `end` where none does. */
  firstAfter(timePs: number, end: number): number {
    const { times, mask, made } = this;
    const oldest = made > mask ? made - mask - 1 : 0;
    let n = end;
    while (n > oldest && times[TIMES * ((n - 1) & mask) + 1]! > timePs) n--;
    return n > oldest ? n : oldest;
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
    return entry >= 0 && entry >= this.made - this.mask - 1;
  }

  fromOf(entry: number): number {
    return this.times[TIMES * (entry & this.mask)]!;
  }

  toOf(entry: number): number {
    return this.times[TIMES * (entry & this.mask) + 1]!;
  }

  whoOf(entry: number): number {
    return culpritOf(this.facts[FACTS * (entry & this.mask)]!);
  }

  /** The burst, where it matters that a burst does not wait for itself; else −1. */
  slotOf(entry: number): number {
    return this.facts[FACTS * (entry & this.mask) + SLOT]!;
  }

  /** Makes room for one more entry and begins to fill it; answers where its facts are. */
  private enter(key: number, slot: number): number {
    const { now } = this.calendar;
    if (now !== this.lastPs) {
      this.lastPs = now;
      this.earlier = this.made;
    }
    if ((this.made & this.mask) === 0 && this.made > 0) this.turn(now);
    const at = FACTS * (this.made & this.mask);
    const { facts } = this;
    facts[at] = key;
    facts[at + SLOT] = slot;
    return at;
  }

  private setTimes(fromPs: number, toPs: number): void {
    const at = TIMES * (this.made++ & this.mask);
    const { endPs, times } = this;
    times[at] = fromPs > endPs ? fromPs : endPs;
    times[at + 1] = toPs;
    this.endPs = toPs;
  }

  /** Notes a use that has been known since `sincePs`: of what is known since before this instant, it is a part. */
  private noteLate(fromPs: number, toPs: number, sincePs: number, key: number, slot: number): void {
    if (toPs <= this.endPs || toPs <= fromPs) return;
    this.facts[this.enter(key, slot) + FIRST] = NONE;
    this.setTimes(fromPs, toPs);
    if (sincePs < this.calendar.now) this.earlier = this.made;
  }

  /** The ring is full, once more: it grows where it holds too short a time. Its first entry is the oldest. */
  private turn(nowPs: number): void {
    const { times, facts, mask: old } = this;
    if (old === LARGEST_SIZE - 1 || nowPs - this.toOf(this.made) >= KEPT_PS) return;
    const size = (old + 1) * 2;
    this.times = new Float64Array(TIMES * size);
    this.facts = new Int32Array(FACTS * size);
    this.mask = size - 1;
    const oldest = (this.made - old - 1) & this.mask;
    this.times.set(times, TIMES * oldest);
    this.facts.set(facts, FACTS * oldest);
  }
}
