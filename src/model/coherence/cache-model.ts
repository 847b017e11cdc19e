import type { Care } from '../../scenario/scenario.js';
import type { PrivateCache } from './private-cache.js';

/** What a requester wants of a line. */
export const Want = {
  /** Port read: the data, no copy kept. */
  read: 0,
  /** Port write. */
  write: 1,
  /** Core: a copy to read. */
  copy: 2,
  /** Core: a copy to change. */
  own: 3,
  /** Core: the right to change the copy that it has. */
  upgrade: 4,
} as const;

/** One line's worth of a burst at the tags; one such record is used again and again. */
export interface Access {
  slot: number;
  /** Which line of the burst, from 0. */
  index: number;
  want: number;
  line: number;
  /** Is the whole line written? */
  whole: boolean;
  /** May it bring the line into the shared cache, and move it in the replacement order? */
  allocates: boolean;
  /** Beats of the burst in this line, at the unit's width. */
  beats: number;
  input: number;
  /** Number of the private cache that asks, or −1. */
  core: number;
  master: number;
}

/** What the models ask of the unit. Edges are numbers of the unit's clock. */
export interface UnitServices {
  readonly cores: readonly PrivateCache[];
  /** The edge at which the lookup or fill takes place. */
  readonly edge: number;
  /** Takes the data array for so many beats from `edge` on; answers the edge at which it starts. */
  bookData(edge: number, beats: number): number;
  /** The data of a read's line comes back, a beat a cycle, from `edge` on, `snoop` cycles of the wait spent at other caches. */
  respond(slot: number, index: number, edge: number, snoop: number): void;
  /** The burst is answered by a single beat without data. */
  respondEmpty(slot: number, edge: number, snoop: number): void;
  /** Line number `index` of a write (−1: that of the burst that went on to memory for it) is accepted at `edge`. */
  acceptLine(slot: number, index: number, edge: number, snoop: number): void;
  /** Sends for a line; answers the fetching burst. */
  fetch(line: number, a: Access): number;
  /** Sends a changed line to memory, through the write-back buffer; answers the burst that carries it. */
  writeBack(line: number, a: Access): number;
  /** Sends a write's part of a line to memory, through the write-back buffer; the burst is answered by memory. */
  passThrough(a: Access): void;
  /** Counts an event for the shared cache. */
  count(master: number, event: 'evictions' | 'interventions'): void;
  looked(a: Access, outcome: 'hits' | 'misses' | 'merged'): void;
  /** Fills `into` for the `index`-th line of a burst that waits. */
  describe(slot: number, index: number, into: Access): void;
  /** The burst's line is looked up again as soon as it can be. */
  replay(slot: number, index: number): void;
}

/** How the shared cache behaves: with real tags, or by stated ratios. */
export interface CacheModel {
  /** Can the access not be looked up now? Changes nothing. */
  blocked(a: Access): boolean;
  /** Looks it up, with everything that follows; only if not blocked. */
  lookup(a: Access, again: boolean): void;
  /** The line of a miss entry is in. */
  fill(entry: number): void;
  /** The same two for a changed line that a core pushed out. */
  victimBlocked(core: number, line: number): boolean;
  takeVictim(core: number, line: number, a: Access): void;
  /** The same two for a line, nowhere on its way, that a core cleans or invalidates; `draw` decides where the model knows no lines. */
  upkeepBlocked(line: number, care: Care, draw: number): boolean;
  /** Answers the burst that carries the line to memory, or −1. */
  upkeep(line: number, care: Care, a: Access, draw: number): number;
  /** A core has what was granted; `pinned` as it was granted. */
  received(line: number, pinned: boolean): void;
  /** Does the line have changed data in a cache or on its way to memory; is it in any cache? */
  isDirty(line: number): boolean;
  isCached(line: number): boolean;
}

export const emptyAccess = (): Access => ({
  slot: -1,
  index: 0,
  want: Want.read,
  line: 0.5,
  whole: false,
  allocates: false,
  beats: 0,
  input: 0,
  core: -1,
  master: 0,
});
