// Hot path: every event of a run passes through here. No object is made per event: what is due soon hangs in a wheel of
// short slots, linked through the carriers' own records, since each carrier is pending at most once; only what lies beyond
// the wheel, or in a crowded slot, becomes an (pooled) entry of a heap. Nothing moves from one to the other: the smaller
// head is handled. A record's field is reached by one load, an element of a typed array by three and a bound; fields that
// hold times start as what is no whole number, so that they are doubles from the first. Add nothing per event.
import FastPriorityQueue from 'fastpriorityqueue';

/** Something that is woken by the calendar. */
export interface Actor {
  /** Called at `calendar.now`; `tag` is what the carrier was made with. */
  wake(tag: number): void;
}

/** What is due far from now. */
interface Entry {
  time: number;
  /** Phase, then order. */
  rank: number;
  carrier: Carrier;
  /** Which arming of its carrier this entry is; an older one is stale and skipped. */
  arming: number;
}

const NEVER = Infinity;

/** A slot of the wheel holds 64 ps, the wheel 262 ns. */
const SLOT_PS = 64;
const SLOTS = 4096;
const REACH_PS = (SLOTS - 1) * SLOT_PS;
const WORDS = SLOTS / 32;
/** A slot that would be walked further than this hands what comes to the heap. */
const LONGEST_WALK = 12;

/** A phase outweighs every order within one; more events than this take centuries. */
const PHASE_RANK = 2 ** 50;

/** Where an armed carrier is kept. */
const Place = { none: 0, wheel: 1, far: 2 } as const;

/** What the calendar keeps of a carrier. */
class Carrier {
  due = NEVER;
  /** Phase × PHASE_RANK; that plus the order of the arming, which decides at one instant. */
  phase = 0.5;
  rank = 0.5;
  place: number = Place.none;
  later: Carrier | null = null;
  sooner: Carrier | null = null;
  arming = 0;
  /** The actor's `wake`, found once: looking it up per event is slow where there are many kinds of actor. */
  readonly wake: Actor['wake'];

  constructor(
    readonly id: number,
    readonly actor: Actor,
    readonly tag: number,
    phase: number,
  ) {
    this.phase = phase * PHASE_RANK;
    // oxlint-disable-next-line typescript/unbound-method -- `run` calls it on its actor
    this.wake = actor.wake;
  }
}

const earlier = (a: Entry, b: Entry): boolean => (a.time !== b.time ? a.time < b.time : a.rank < b.rank);

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
  /** By carrier: when it is due; Infinity when it is not armed. Write through `arm`. */
  at = new Float64Array(64).fill(NEVER);

  private readonly carriers: Carrier[] = [];
  // the wheel: the first and the last carrier of each slot, and a bit for each slot in use
  private readonly head = Array.from<unknown, Carrier | null>({ length: SLOTS }, () => null);
  private readonly tail = Array.from<unknown, Carrier | null>({ length: SLOTS }, () => null);
  private readonly used = new Int32Array(WORDS);
  private inWheel = 0;
  /** The slot that `next` found the first carrier of the wheel in. */
  private firstSlot = 0;

  private readonly far = new FastPriorityQueue<Entry>(earlier);
  /** When the first entry of the heap, stale or not, is due: what is sooner needs no look at the heap. */
  private farDue = NEVER;
  private readonly pool: Entry[] = [];
  private sequence = 0.5;
  private stopped = false;

  /** @param shuffle draws in [0, 1) that replace the order of scheduling within a phase, or null. */
  constructor(private readonly shuffle: (() => number) | null = null) {
    this.now = 0;
    this.sequence = 0;
  }

  /** Makes a carrier that wakes `actor` with `tag` in `phase`. */
  carrier(actor: Actor, tag: number, phase: number): number {
    const id = this.carriers.length;
    this.carriers.push(new Carrier(id, actor, tag, phase));
    if (id >= this.at.length) {
      const wider = new Float64Array(this.at.length * 2).fill(NEVER);
      wider.set(this.at);
      this.at = wider;
    }
    return id;
  }

  /** Makes `carrier` due at `timePs`, wherever it was before. Never in the past. */
  arm(carrier: number, timePs: number): void {
    this.at[carrier] = timePs;
    this.place(carrier);
  }

  /** Makes `carrier` due at `timePs` unless it already is at or before then. */
  armBy(carrier: number, timePs: number): void {
    if (timePs < this.at[carrier]!) this.arm(carrier, timePs);
  }

  /** Puts a carrier where it belongs by its `at`: not by an argument, as a time that is passed is put on the heap. */
  private place(carrier: number): void {
    const timePs = this.at[carrier]!;
    if (timePs < this.now) throw new Error(`carrier ${carrier} armed for ${timePs} ps at ${this.now} ps`);
    const it = this.carriers[carrier]!;
    if (it.place !== Place.none) this.takeOut(it);
    it.due = timePs;
    it.rank = it.phase + (this.shuffle === null ? this.sequence++ : Math.floor(this.shuffle() * PHASE_RANK));
    if (timePs - this.now >= REACH_PS || !this.putInWheel(it)) this.putFar(it);
  }

  /** Takes back what was armed. */
  disarm(carrier: number): void {
    const it = this.carriers[carrier]!;
    if (it.place !== Place.none) this.takeOut(it);
    this.at[carrier] = NEVER;
  }

  /** Stops `run` after the current event. */
  stop(): void {
    this.stopped = true;
  }

  /** Handles events up to and including `untilPs`, or until `stop`, or until none is left. Returns true if stopped. */
  run(untilPs: number): boolean {
    this.stopped = false;
    for (;;) {
      const it = this.next();
      if (it === null) return false;
      const { due } = it;
      if (due > untilPs) return false;
      this.now = due;
      this.takeFirst(it);
      this.at[it.id] = NEVER;
      this.handled++;
      it.wake.call(it.actor, it.tag);
      if (this.stopped) return true;
    }
  }

  /** Is anything still to happen? */
  get empty(): boolean {
    return this.next() === null;
  }

  /** The carrier that is due first, or null. */
  private next(): Carrier | null {
    const near = this.inWheel === 0 ? null : this.head[this.findFirstSlot()]!;
    if (near === null ? this.farDue === NEVER : near.due < this.farDue) return near;
    const far = this.farHead();
    if (near === null || far === null) return near ?? far;
    return before(near, far) ? near : far;
  }

  /** The first slot in use from the current instant on; the wheel is not empty. */
  private findFirstSlot(): number {
    const { used } = this;
    const start = Math.floor(this.now / SLOT_PS) & (SLOTS - 1);
    let word = start >>> 5;
    // slots of this word that lie before the start are a whole turn away: they come round as its last word
    let bits = used[word]! & (-1 << (start & 31));
    while (bits === 0) {
      word = (word + 1) & (WORDS - 1);
      bits = used[word]!;
    }
    const slot = (word << 5) | (31 - Math.clz32(bits & -bits));
    this.firstSlot = slot;
    return slot;
  }

  /** The first carrier of the heap that is not stale, or null. */
  private farHead(): Carrier | null {
    const { far, pool } = this;
    for (let entry = far.peek(); entry !== undefined; entry = far.peek()) {
      const { carrier } = entry;
      this.farDue = entry.time;
      if (entry.arming === carrier.arming) return carrier;
      pool.push(entry);
      far.poll();
    }
    this.farDue = NEVER;
    return null;
  }

  /** Links a carrier into its slot, in order, from the back; false if that is a long way. */
  private putInWheel(it: Carrier): boolean {
    const slot = slotOf(it);
    let sooner: Carrier | null = this.tail[slot]!;
    let later: Carrier | null = null;
    // most slots are empty, or what comes goes behind what is there
    for (let steps = 0; sooner !== null && before(it, sooner); steps++) {
      if (steps === LONGEST_WALK) return false;
      later = sooner;
      sooner = sooner.sooner;
    }
    it.sooner = sooner;
    it.later = later;
    if (later === null) this.tail[slot] = it;
    else later.sooner = it;
    if (sooner === null) {
      this.head[slot] = it;
      this.used[slot >>> 5]! |= 1 << (slot & 31);
    } else {
      sooner.later = it;
    }
    it.place = Place.wheel;
    this.inWheel++;
    return true;
  }

  private putFar(it: Carrier): void {
    const entry = this.pool.pop() ?? { time: 0.5, rank: 0.5, carrier: it, arming: 0 };
    entry.time = it.due;
    entry.rank = it.rank;
    entry.carrier = it;
    entry.arming = ++it.arming;
    this.far.add(entry);
    if (entry.time < this.farDue) this.farDue = entry.time;
    it.place = Place.far;
  }

  /** Takes out the carrier that `next` has just found: in the wheel it stands at the head of its slot. */
  private takeFirst(it: Carrier): void {
    if (it.place !== Place.wheel) {
      this.takeOut(it);
      return;
    }
    const slot = this.firstSlot;
    const { later } = it;
    it.place = Place.none;
    this.inWheel--;
    this.head[slot] = later;
    if (later === null) {
      this.tail[slot] = null;
      this.used[slot >>> 5]! &= ~(1 << (slot & 31));
    } else {
      later.sooner = null;
    }
  }

  private takeOut(it: Carrier): void {
    if (it.place === Place.wheel) this.takeFromWheel(it);
    // an entry of the heap stays there, stale
    else it.arming++;
    it.place = Place.none;
  }

  private takeFromWheel(it: Carrier): void {
    const { sooner, later } = it;
    const slot = slotOf(it);
    this.inWheel--;
    if (later === null) this.tail[slot] = sooner;
    else later.sooner = sooner;
    if (sooner === null) this.head[slot] = later;
    else sooner.later = later;
    if (sooner === null && later === null) this.used[slot >>> 5]! &= ~(1 << (slot & 31));
  }
}

/** Is `a` due before `b`? */
function before(a: Carrier, b: Carrier): boolean {
  return a.due !== b.due ? a.due < b.due : a.rank < b.rank;
}

function slotOf(it: Carrier): number {
  return Math.floor(it.due / SLOT_PS) & (SLOTS - 1);
}
