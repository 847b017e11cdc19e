// Hot path: every access of a core looks up here. Typed arrays; nothing is allocated per access.
import type { CacheSpec } from '../../scenario/scenario.js';
import { placeOf } from './place-of.js';
import type { VictimDraw } from './replacement.js';
import { LineState, TagStore } from './tag-store.js';

const NONE = -1;

/** How an access to a private cache ended. */
export const Outcome = {
  /** Done, after the hit time. */
  hit: 0,
  /** The line must be fetched. */
  miss: 1,
  /** The line is here, but shared: a store must ask for it alone. */
  upgrade: 2,
  /** The line is on its way in, in a state that will do. */
  merged: 3,
  /** Try again when a flight is back: the line comes without ownership, or no way is free. */
  wait: 4,
} as const;

/**
 * A core's private cache: real tags with MESI states, the fetches in flight, and the lines it pushed out that the
 * coherence unit has not been told of yet (they still answer snoops). A fetch takes its way, and evicts, when it starts.
 */
export class PrivateCache {
  readonly tags: TagStore;
  /** Flights in use. */
  flying = 0;
  /** By flight: the burst that fetches, the line, its place, and whether the store's ownership was asked for. */
  readonly slots: Int32Array;
  private readonly lines: Float64Array;
  private readonly places: Int32Array;
  private readonly owning: Uint8Array;
  /** By flight: the state granted by the unit (0: not yet), and whether the unit keeps the line pinned for it. */
  private readonly granted: Uint8Array;
  private readonly pinned: Uint8Array;

  private readonly victimLines: Float64Array;
  private readonly victimSlots: Int32Array;
  private readonly victimDirt: Uint8Array;

  constructor(
    spec: CacheSpec,
    lineBytes: number,
    readonly parallelism: number,
    draw: VictimDraw,
  ) {
    this.tags = new TagStore(spec, lineBytes, draw);
    this.slots = new Int32Array(parallelism).fill(NONE);
    this.lines = new Float64Array(parallelism).fill(NONE);
    this.places = new Int32Array(parallelism).fill(NONE);
    this.owning = new Uint8Array(parallelism);
    this.granted = new Uint8Array(parallelism);
    this.pinned = new Uint8Array(parallelism);
    // one per flight, and one that the unit has taken but not dealt with
    this.victimLines = new Float64Array(parallelism + 2).fill(NONE);
    this.victimSlots = new Int32Array(parallelism + 2).fill(NONE);
    this.victimDirt = new Uint8Array(parallelism + 2);
  }

  /** Looks a line up; a hit is a use, and a store's hit makes the line modified. */
  access(line: number, store: boolean): number {
    const { tags } = this;
    const place = tags.find(line);
    if (place < 0) return tags.choose(line) < 0 ? Outcome.wait : Outcome.miss;
    const state = tags.states[place]!;
    if (state === LineState.pending || (store && state === LineState.shared)) {
      const flight = placeOf(this.lines, line);
      if (flight < 0) return Outcome.upgrade;
      return store && this.owning[flight] === 0 ? Outcome.wait : Outcome.merged;
    }
    tags.touch(place);
    if (store) tags.states[place] = LineState.modified;
    return Outcome.hit;
  }

  /**
   * Starts the fetch (or upgrade) of a line by burst `slot`. Answers the flight; `evicted` and `evictedDirty` tell what
   * it pushed out.
   */
  start(line: number, store: boolean, slot: number): number {
    const flight = placeOf(this.slots, NONE);
    let place = this.tags.find(line);
    this.evicted = NONE;
    if (place < 0) {
      place = this.tags.choose(line);
      this.pushOut(place, slot);
      this.tags.fill(place, line, LineState.pending);
    }
    this.tags.pins[place]!++;
    this.slots[flight] = slot;
    this.lines[flight] = line;
    this.places[flight] = place;
    this.owning[flight] = store ? 1 : 0;
    this.granted[flight] = 0;
    this.pinned[flight] = 0;
    this.flying++;
    return flight;
  }

  /** The line that the last `start` pushed out, or −1. */
  evicted = NONE;
  evictedDirty = false;

  /** The data of a flight is in: the line has the state that was granted. Answers whether the unit pinned it. */
  land(flight: number): boolean {
    const place = this.places[flight]!;
    this.tags.states[place] = this.granted[flight]!;
    this.tags.pins[place]!--;
    this.slots[flight] = NONE;
    this.lines[flight] = NONE;
    this.flying--;
    return this.pinned[flight] === 1;
  }

  /** The line of a flight. */
  lineOf(flight: number): number {
    return this.lines[flight]!;
  }

  /** The flight of a line, or −1. */
  flightOf(line: number): number {
    return placeOf(this.lines, line);
  }

  /** The unit grants the line that `slot` asked for, in a state. */
  grant(slot: number, state: number, pinned: boolean): void {
    const flight = placeOf(this.slots, slot);
    this.granted[flight] = state;
    this.pinned[flight] = pinned ? 1 : 0;
  }

  /** Is the line granted and on its way here? Then the unit must not snoop it yet. */
  awaits(line: number): boolean {
    const flight = placeOf(this.lines, line);
    return flight >= 0 && this.granted[flight] !== 0;
  }

  /** Would a snoop find changed data? */
  isDirty(line: number): boolean {
    const place = this.tags.find(line);
    if (place >= 0 && this.tags.states[place] === LineState.modified) return true;
    return this.victimDirty(line);
  }

  /** The unit takes the line down to shared, or away; answers true if it had changed data, which the unit now has. */
  snoop(line: number, invalidate: boolean): boolean {
    const dirty = this.isDirty(line);
    const victim = placeOf(this.victimLines, line);
    if (victim >= 0) this.victimDirt[victim] = 0;
    const place = this.tags.find(line);
    if (place < 0 || this.tags.states[place] === LineState.pending) return dirty;
    if (!invalidate) this.tags.states[place] = LineState.shared;
    else if (placeOf(this.lines, line) >= 0) this.tags.states[place] = LineState.pending;
    else this.tags.invalidate(place);
    return dirty;
  }

  /** The unit takes changed data to memory and leaves the line here, as its only copy; answers true if there was any. */
  clean(line: number): boolean {
    const dirty = this.isDirty(line);
    const victim = placeOf(this.victimLines, line);
    if (victim >= 0) this.victimDirt[victim] = 0;
    const place = this.tags.find(line);
    if (place >= 0 && this.tags.states[place] === LineState.modified) this.tags.states[place] = LineState.exclusive;
    return dirty;
  }

  /** The line that the fetch by `slot` pushed out, or −1; asked once, when the unit looks the fetch up. */
  takeVictim(slot: number): number {
    const victim = placeOf(this.victimSlots, slot);
    if (victim < 0) return NONE;
    this.victimSlots[victim] = NONE;
    return this.victimLines[victim]!;
  }

  victimDirty(line: number): boolean {
    const victim = placeOf(this.victimLines, line);
    return victim >= 0 && this.victimDirt[victim] === 1;
  }

  /** The unit has dealt with a line that was pushed out. */
  forget(line: number): void {
    const victim = placeOf(this.victimLines, line);
    this.victimLines[victim] = NONE;
    this.victimSlots[victim] = NONE;
  }

  private pushOut(place: number, slot: number): void {
    const line = this.tags.lines[place]!;
    if (line === NONE) return;
    const victim = placeOf(this.victimLines, NONE);
    if (victim < 0) throw new Error('private cache: more lines pushed out than fetches in flight');
    this.evicted = line;
    this.evictedDirty = this.tags.states[place] === LineState.modified;
    this.victimLines[victim] = line;
    this.victimSlots[victim] = slot;
    this.victimDirt[victim] = this.evictedDirty ? 1 : 0;
  }
}
