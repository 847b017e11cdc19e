// Hot path: every event of a run passes through here. No object is made per event: entries are pooled, and times move
// through `at[]` rather than through arguments, which V8 would box where a call is not inlined. Add nothing per event.
import FastPriorityQueue from 'fastpriorityqueue';

/** Something that is woken by the calendar. */
export interface Actor {
  /** Called at `calendar.now`; `tag` is what the carrier was made with. */
  wake(tag: number): void;
}

interface Entry {
  time: number;
  phase: number;
  order: number;
  carrier: number;
  /** Which arming of its carrier this entry is; an older one is stale and skipped. */
  arming: number;
}

const NEVER = Infinity;

const earlier = (a: Entry, b: Entry): boolean =>
  a.time !== b.time ? a.time < b.time : a.phase !== b.phase ? a.phase < b.phase : a.order < b.order;

/**
 * The list of what is still to happen. A *carrier* is one thing that can be pending at most once: an element's wake-up
 * or a burst on its way. Total order: time, then phase, then order of scheduling (or a random order, to prove that
 * nothing depends on it).
 */
export class Calendar {
  /** Current time in ps. */
  now = 0;
  /** Events handled so far. */
  handled = 0;
  /** By carrier: when it is due; Infinity when it is not armed. Write through `arm`. */
  at = new Float64Array(64).fill(NEVER);

  private readonly heap = new FastPriorityQueue<Entry>(earlier);
  private readonly pool: Entry[] = [];
  private readonly actors: Actor[] = [];
  private readonly tags: number[] = [];
  private readonly phases: number[] = [];
  private armings = new Int32Array(64);
  private sequence = 0;
  private stopped = false;

  /** @param shuffle draws in [0, 1) that replace the order of scheduling within a phase, or null. */
  constructor(private readonly shuffle: (() => number) | null = null) {}

  /** Makes a carrier that wakes `actor` with `tag` in `phase`. */
  carrier(actor: Actor, tag: number, phase: number): number {
    const id = this.actors.length;
    this.actors.push(actor);
    this.tags.push(tag);
    this.phases.push(phase);
    if (id >= this.at.length) this.grow();
    this.at[id] = NEVER;
    return id;
  }

  /** Makes `carrier` due at `timePs`, wherever it was before. Never in the past. */
  arm(carrier: number, timePs: number): void {
    if (timePs < this.now) throw new Error(`carrier ${carrier} armed for ${timePs} ps at ${this.now} ps`);
    this.at[carrier] = timePs;
    const entry = this.pool.pop() ?? { time: 0.5, phase: 0, order: 0.5, carrier: 0, arming: 0 };
    entry.time = timePs;
    entry.phase = this.phases[carrier]!;
    entry.order = this.shuffle === null ? this.sequence++ : this.shuffle();
    entry.carrier = carrier;
    entry.arming = ++this.armings[carrier]!;
    this.heap.add(entry);
  }

  /** Makes `carrier` due at `timePs` unless it already is at or before then. */
  armBy(carrier: number, timePs: number): void {
    if (timePs < this.at[carrier]!) this.arm(carrier, timePs);
  }

  /** Takes back what was armed. */
  disarm(carrier: number): void {
    this.at[carrier] = NEVER;
    this.armings[carrier]!++;
  }

  /** Stops `run` after the current event. */
  stop(): void {
    this.stopped = true;
  }

  /** Handles events up to and including `untilPs`, or until `stop`, or until none is left. Returns true if stopped. */
  run(untilPs: number): boolean {
    this.stopped = false;
    const { heap, pool, actors, tags } = this;
    while (!this.stopped) {
      const entry = heap.peek();
      if (entry === undefined || entry.time > untilPs) break;
      heap.poll();
      pool.push(entry);
      const carrier = entry.carrier;
      if (entry.arming !== this.armings[carrier]) continue;
      this.now = entry.time;
      this.at[carrier] = NEVER;
      this.handled++;
      actors[carrier]!.wake(tags[carrier]!);
    }
    return this.stopped;
  }

  /** Is anything still to happen? */
  get empty(): boolean {
    while (!this.heap.isEmpty()) {
      const entry = this.heap.peek()!;
      if (entry.arming === this.armings[entry.carrier]) return false;
      this.pool.push(this.heap.poll()!);
    }
    return true;
  }

  private grow(): void {
    const at = new Float64Array(this.at.length * 2).fill(NEVER);
    at.set(this.at);
    this.at = at;
    const armings = new Int32Array(this.armings.length * 2);
    armings.set(this.armings);
    this.armings = armings;
  }
}
