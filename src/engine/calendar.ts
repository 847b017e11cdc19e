// Hot path: every event of a run passes through here. No object is made per event: what is due soon hangs in a wheel of
// short slots, since each carrier is pending at most once; only what lies beyond the wheel becomes a (pooled) entry of a
// heap. Nothing moves from one to the other: the smaller head is handled. Add nothing per event.
import { before, Carrier, PHASE_RANK, Place } from './carrier.js';
import { FarList } from './far-list.js';
import { REACH_PS, Wheel } from './wheel.js';

// constants of the file: an import is loaded and checked at each use
const { none: NONE, wheel: WHEEL } = Place;
const REACH = REACH_PS;

/** Something that is woken by the calendar. */
export interface Actor {
  /** Called at `calendar.now`; `tag` is what the carrier was made with. */
  wake(tag: number): void;
}

/**
 * The list of what is still to happen. A *carrier* is one thing that can be pending at most once: an element's wake-up
 * or a burst on its way. Total order: time, then phase, then order of scheduling (or a random order, to prove that
 * nothing depends on it).
 */
export class Calendar {
  /** Current time in ps; starts as a fraction, so that it is kept as a double from the first run on. */
  now = 0.5;
  /** Events handled so far. */
  handled = 0;

  private readonly wheel = new Wheel();
  private readonly far = new FarList();
  private sequence = 0.5;
  /** Where `run` ends: a field is a double, where an argument is looked at each time. */
  private untilPs = 0.5;
  private stopped = false;

  /** @param shuffle draws in [0, 1) that replace the order of scheduling within a phase, or null. */
  constructor(private readonly shuffle: (() => number) | null = null) {
    this.now = 0;
    this.sequence = 0;
  }

  /** Makes a carrier that wakes `actor` with `tag` in `phase`. */
  carrier(actor: Actor, tag: number, phase: number): Carrier {
    return new Carrier(actor, tag, phase);
  }

  /** Makes `carrier` due at `timePs`, wherever it was before. Never in the past. */
  arm(carrier: Carrier, timePs: number): void {
    carrier.due = timePs;
    this.place(carrier);
  }

  /** Makes `carrier` due at `timePs` unless it already is at or before then. */
  armBy(carrier: Carrier, timePs: number): void {
    if (timePs >= carrier.due) return;
    carrier.due = timePs;
    this.place(carrier);
  }

  /**
   * Puts a carrier where it belongs by its `due`: not by an argument, as a time that is passed is put on the heap. Too long to
   * be inlined (`cli/compiler.ts`), so that `arm` and `armBy` are short enough to be.
   */
  private place(it: Carrier): void {
    const timePs = it.due;
    if (timePs < this.now) {
      throw new Error(`${it.actor.constructor.name}, tag ${it.tag}: armed for ${timePs} ps at ${this.now} ps`);
    }
    if (it.place !== NONE) this.takeOut(it);
    it.rank = it.phase + (this.shuffle === null ? this.sequence++ : Math.floor(this.shuffle() * PHASE_RANK));
    if (timePs - this.now >= REACH || !this.wheel.put(it)) this.far.put(it);
  }

  /** Takes back what was armed. */
  disarm(carrier: Carrier): void {
    if (carrier.place !== NONE) this.takeOut(carrier);
    carrier.due = Infinity;
  }

  /** Stops `run` after the current event. */
  stop(): void {
    this.stopped = true;
  }

  /** Handles events up to and including `untilPs`, or until `stop`, or until none is left. Returns true if stopped. */
  run(untilPs: number): boolean {
    this.stopped = false;
    this.untilPs = untilPs;
    for (;;) {
      const it = this.next();
      if (it === null) return false;
      const { due } = it;
      if (due > this.untilPs) return false;
      this.now = due;
      if (it.place === WHEEL) this.wheel.takeFirst(it);
      else this.far.take(it);
      it.due = Infinity;
      this.handled++;
      it.wake.call(it.actor, it.tag);
      if (this.stopped) return true;
    }
  }

  /** Is anything still to happen? */
  get empty(): boolean {
    return this.next() === null;
  }

  /** The carrier that is due first, or null: when it is due is when the next thing happens. */
  next(): Carrier | null {
    const { wheel, far } = this;
    const near = wheel.count === 0 ? null : wheel.first(this.now);
    if (near === null ? far.due === Infinity : near.due < far.due) return near;
    const distant = far.first();
    if (near === null || distant === null) return near ?? distant;
    return before(near, distant) ? near : distant;
  }

  private takeOut(it: Carrier): void {
    if (it.place === WHEEL) this.wheel.take(it);
    else this.far.take(it);
  }
}
