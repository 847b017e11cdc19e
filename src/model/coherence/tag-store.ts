// Hot path: one lookup per cached access. Typed arrays only; nothing is allocated after the constructor.
import type { ReplacementRule, VictimDraw } from './replacement.js';
import { makeRule } from './replacement.js';
import type { CacheSpec } from '../../scenario/scenario.js';

/** State of a line in a cache. `pending`: its way is taken, its data is on the way in. */
export const LineState = { invalid: 0, shared: 1, exclusive: 2, modified: 3, pending: 4 } as const;

const EMPTY = -1;

/**
 * The tags of one set-associative cache: which line is in which way, and its state. Lines are whole numbers from 0 to
 * 2^45; a place is `set * ways + way`. Caches start empty; an invalid way is filled first, the lowest-numbered one.
 */
export class TagStore {
  readonly sets: number;
  readonly ways: number;
  /** By place: the line, or −1. */
  readonly lines: Float64Array;
  readonly states: Uint8Array;
  /** By place: how many transactions need the line to stay; such a place is never chosen for a victim. */
  readonly pins: Uint8Array;
  private readonly rule: ReplacementRule;
  private readonly mask: number;

  /** @throws RangeError if the size is not a whole number of sets. */
  constructor(spec: CacheSpec, lineBytes: number, draw: VictimDraw) {
    this.ways = spec.ways;
    this.sets = spec.bytes / (lineBytes * spec.ways);
    if (!Number.isInteger(this.sets) || this.sets < 1) {
      throw new RangeError(`cache of ${spec.bytes} bytes: must be a whole number of sets of ${spec.ways} lines`);
    }
    const places = this.sets * this.ways;
    this.lines = new Float64Array(places).fill(EMPTY);
    this.states = new Uint8Array(places);
    this.pins = new Uint8Array(places);
    this.mask = (this.sets & (this.sets - 1)) === 0 ? this.sets - 1 : -1;
    this.rule = makeRule(spec.replacement, this.sets, this.ways, draw);
  }

  /** The set of a line: line mod sets. */
  setOf(line: number): number {
    // whole-number arithmetic where it fits: % on a double is slow
    if (line < 0x40000000 && this.mask >= 0) return line & this.mask;
    return line - Math.floor(line / this.sets) * this.sets;
  }

  /** The place of a line, or −1. Does not count as a use. */
  find(line: number): number {
    const base = this.setOf(line) * this.ways;
    const end = base + this.ways;
    for (let place = base; place < end; place++) if (this.lines[place] === line) return place;
    return -1;
  }

  /** The line at a place was used. */
  touch(place: number): void {
    const set = (place / this.ways) | 0;
    this.rule.hit(set, place - set * this.ways);
  }

  /** Where a line that is not here would go: an invalid way, else the victim's; −1 if every way is pinned. */
  choose(line: number): number {
    const set = this.setOf(line);
    const base = set * this.ways;
    for (let place = base; place < base + this.ways; place++) if (this.lines[place] === EMPTY) return place;
    const way = this.rule.victim(set, this.pins);
    return way < 0 ? -1 : base + way;
  }

  /** Puts a line into a chosen place, over whatever was there. */
  fill(place: number, line: number, state: number): void {
    const set = (place / this.ways) | 0;
    if (this.lines[place] !== EMPTY) this.rule.evicted(set);
    this.lines[place] = line;
    this.states[place] = state;
    this.rule.filled(set, place - set * this.ways);
  }

  /** Empties a place. */
  invalidate(place: number): void {
    this.lines[place] = EMPTY;
    this.states[place] = LineState.invalid;
  }

  /** Lines that are in, for the tests of invariants. */
  *entries(): Iterable<{ line: number; state: number }> {
    for (let place = 0; place < this.lines.length; place++) {
      if (this.lines[place] !== EMPTY) yield { line: this.lines[place]!, state: this.states[place]! };
    }
  }
}
