// Hot path: every event of a run passes through here. No object is made per event: what is due soon hangs in a wheel of
// short slots, linked through typed arrays by carrier, since each carrier is pending at most once; only what lies beyond
// the wheel, or in a crowded slot, becomes an (pooled) entry of a heap. Nothing moves from one to the other: the smaller
// head is handled. Add nothing per event.
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
  carrier: number;
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

/** Where an armed carrier is kept. */
const Place = { none: 0, wheel: 1, far: 2 } as const;

const earlier = (a: Entry, b: Entry): boolean => (a.time !== b.time ? a.time < b.time : a.rank < b.rank);

/** A phase outweighs every order within one; more events than this take centuries. */
const PHASE_RANK = 2 ** 50;

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

  private readonly actors: Actor[] = [];
  /** Each actor's `wake`, found once: looking it up per event is slow where there are many kinds of actor. */
  private readonly wakes: Actor['wake'][] = [];
  private readonly tags: number[] = [];
  // by carrier
  /** Phase × PHASE_RANK, and that plus the order of the arming: what decides at one instant. */
  private phases = new Float64Array(64);
  private ranks = new Float64Array(64);
  private places = new Uint8Array(64);
  private later = new Int32Array(64);
  private sooner = new Int32Array(64);
  private armings = new Int32Array(64);
  // the wheel: the first and the last carrier of each slot, and a bit for each slot in use
  private readonly head = new Int32Array(SLOTS).fill(-1);
  private readonly tail = new Int32Array(SLOTS).fill(-1);
  private readonly used = new Int32Array(WORDS);
  private inWheel = 0;
  /** The slot that `next` found the first carrier of the wheel in. */
  private firstSlot = 0;

  private readonly far = new FastPriorityQueue<Entry>(earlier);
  /** When the first entry of the heap, stale or not, is due: what is sooner needs no look at the heap. */
  private farDue = NEVER;
  private readonly pool: Entry[] = [];
  private sequence = 0;
  private stopped = false;

  /** @param shuffle draws in [0, 1) that replace the order of scheduling within a phase, or null. */
  constructor(private readonly shuffle: (() => number) | null = null) {
    this.now = 0;
  }

  /** Makes a carrier that wakes `actor` with `tag` in `phase`. */
  carrier(actor: Actor, tag: number, phase: number): number {
    const id = this.actors.length;
    this.actors.push(actor);
    // oxlint-disable-next-line typescript/unbound-method -- `run` calls it on its actor
    this.wakes.push(actor.wake);
    this.tags.push(tag);
    if (id >= this.at.length) this.grow();
    this.phases[id] = phase * PHASE_RANK;
    this.at[id] = NEVER;
    return id;
  }

  /** Makes `carrier` due at `timePs`, wherever it was before. Never in the past. */
  arm(carrier: number, timePs: number): void {
    if (timePs < this.now) throw new Error(`carrier ${carrier} armed for ${timePs} ps at ${this.now} ps`);
    if (this.places[carrier] !== Place.none) this.takeOut(carrier);
    this.at[carrier] = timePs;
    const order = this.shuffle === null ? this.sequence++ : Math.floor(this.shuffle() * PHASE_RANK);
    this.ranks[carrier] = this.phases[carrier]! + order;
    if (timePs - this.now >= REACH_PS || !this.putInWheel(carrier)) this.putFar(carrier);
  }

  /** Makes `carrier` due at `timePs` unless it already is at or before then. */
  armBy(carrier: number, timePs: number): void {
    if (timePs < this.at[carrier]!) this.arm(carrier, timePs);
  }

  /** Takes back what was armed. */
  disarm(carrier: number): void {
    if (this.places[carrier] !== Place.none) this.takeOut(carrier);
    this.at[carrier] = NEVER;
  }

  /** Stops `run` after the current event. */
  stop(): void {
    this.stopped = true;
  }

  /** Handles events up to and including `untilPs`, or until `stop`, or until none is left. Returns true if stopped. */
  run(untilPs: number): boolean {
    this.stopped = false;
    const { actors, wakes, tags } = this;
    for (;;) {
      const carrier = this.next();
      if (carrier < 0) return false;
      const due = this.at[carrier]!;
      if (due > untilPs) return false;
      this.now = due;
      this.takeFirst(carrier);
      this.at[carrier] = NEVER;
      this.handled++;
      wakes[carrier]!.call(actors[carrier]!, tags[carrier]!);
      if (this.stopped) return true;
    }
  }

  /** Is anything still to happen? */
  get empty(): boolean {
    return this.next() < 0;
  }

  /** The carrier that is due first, or −1. */
  private next(): number {
    const near = this.inWheel === 0 ? -1 : this.head[this.findFirstSlot()]!;
    if (near < 0 ? this.farDue === NEVER : this.at[near]! < this.farDue) return near;
    const far = this.farHead();
    if (near < 0 || far < 0) return near < 0 ? far : near;
    return this.before(near, far) ? near : far;
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

  /** The first carrier of the heap that is not stale, or −1. */
  private farHead(): number {
    const { far, pool } = this;
    for (let entry = far.peek(); entry !== undefined; entry = far.peek()) {
      const { carrier } = entry;
      this.farDue = entry.time;
      if (entry.arming === this.armings[carrier]) return carrier;
      pool.push(entry);
      far.poll();
    }
    this.farDue = NEVER;
    return -1;
  }

  private before(a: number, b: number): boolean {
    const { at, ranks } = this;
    return at[a] !== at[b] ? at[a]! < at[b]! : ranks[a]! < ranks[b]!;
  }

  /** Links a carrier into its slot, in order, from the back; false if that is a long way. */
  private putInWheel(carrier: number): boolean {
    const { later, sooner } = this;
    const slot = Math.floor(this.at[carrier]! / SLOT_PS) & (SLOTS - 1);
    let before = this.tail[slot]!;
    let after = -1;
    // most slots are empty, or what comes goes behind what is there
    for (let steps = 0; before >= 0 && this.before(carrier, before); steps++) {
      if (steps === LONGEST_WALK) return false;
      after = before;
      before = sooner[before]!;
    }
    sooner[carrier] = before;
    later[carrier] = after;
    if (after < 0) this.tail[slot] = carrier;
    else sooner[after] = carrier;
    if (before >= 0) {
      later[before] = carrier;
    } else {
      this.head[slot] = carrier;
      this.used[slot >>> 5]! |= 1 << (slot & 31);
    }
    this.places[carrier] = Place.wheel;
    this.inWheel++;
    return true;
  }

  private putFar(carrier: number): void {
    const entry = this.pool.pop() ?? { time: 0.5, rank: 0.5, carrier: 0, arming: 0 };
    entry.time = this.at[carrier]!;
    entry.rank = this.ranks[carrier]!;
    entry.carrier = carrier;
    entry.arming = ++this.armings[carrier]!;
    this.far.add(entry);
    if (entry.time < this.farDue) this.farDue = entry.time;
    this.places[carrier] = Place.far;
  }

  /** Takes out the carrier that `next` has just found: in the wheel it stands at the head of its slot. */
  private takeFirst(carrier: number): void {
    if (this.places[carrier] !== Place.wheel) {
      this.takeOut(carrier);
      return;
    }
    const slot = this.firstSlot;
    const after = this.later[carrier]!;
    this.places[carrier] = Place.none;
    this.inWheel--;
    this.head[slot] = after;
    if (after >= 0) {
      this.sooner[after] = -1;
    } else {
      this.tail[slot] = -1;
      this.used[slot >>> 5]! &= ~(1 << (slot & 31));
    }
  }

  private takeOut(carrier: number): void {
    if (this.places[carrier] === Place.wheel) this.takeFromWheel(carrier);
    // an entry of the heap stays there, stale
    else this.armings[carrier]!++;
    this.places[carrier] = Place.none;
  }

  private takeFromWheel(carrier: number): void {
    const before = this.sooner[carrier]!;
    const after = this.later[carrier]!;
    this.inWheel--;
    if (before >= 0 && after >= 0) {
      this.later[before] = after;
      this.sooner[after] = before;
      return;
    }
    const slot = Math.floor(this.at[carrier]! / SLOT_PS) & (SLOTS - 1);
    if (after < 0) this.tail[slot] = before;
    else this.sooner[after] = -1;
    if (before >= 0) this.later[before] = -1;
    else this.head[slot] = after;
    if (before < 0 && after < 0) this.used[slot >>> 5]! &= ~(1 << (slot & 31));
  }

  private grow(): void {
    const size = this.at.length * 2;
    this.at = widened(this.at, new Float64Array(size).fill(NEVER));
    this.phases = widened(this.phases, new Float64Array(size));
    this.ranks = widened(this.ranks, new Float64Array(size));
    this.places = widened(this.places, new Uint8Array(size));
    this.later = widened(this.later, new Int32Array(size));
    this.sooner = widened(this.sooner, new Int32Array(size));
    this.armings = widened(this.armings, new Int32Array(size));
  }
}

function widened<T extends Uint8Array | Int32Array | Float64Array>(old: T, next: T): T {
  next.set(old);
  return next;
}
