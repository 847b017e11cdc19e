import type { Window } from '../window.js';

/** What happened in one cache on behalf of one master, within the measuring window. */
export interface CacheCount {
  lookups: number;
  hits: number;
  misses: number;
  /** Lookups of a line that was already in flight. */
  merged: number;
  evictions: number;
  writebacks: number;
  interventions: number;
  staleReads: number;
}

/** What can be counted, as the names of the counters. */
export type CacheEvent = keyof CacheCount;

/** Counters of one cache, one set per master. lookups = hits + misses + merged. */
export class CacheCounts {
  private readonly counts: CacheCount[];

  constructor(
    readonly cache: string,
    private readonly window: Window,
    masters: number,
  ) {
    this.counts = Array.from({ length: masters }, () => ({
      lookups: 0,
      hits: 0,
      misses: 0,
      merged: 0,
      evictions: 0,
      writebacks: 0,
      interventions: 0,
      staleReads: 0,
    }));
  }

  /** Counts an event at `timePs`, if that lies inside the window. */
  add(master: number, event: CacheEvent, timePs: number, by = 1): void {
    if (this.window.holds(timePs)) this.counts[master]![event] += by;
  }

  /** Counts a lookup and how it ended. */
  looked(master: number, outcome: 'hits' | 'misses' | 'merged', timePs: number): void {
    if (!this.window.holds(timePs)) return;
    const count = this.counts[master]!;
    count.lookups++;
    count[outcome]++;
  }

  of(master: number): Readonly<CacheCount> {
    return this.counts[master]!;
  }

  /** Masters that did anything with this cache, by number. */
  *used(): Iterable<[number, Readonly<CacheCount>]> {
    for (const [master, count] of this.counts.entries()) {
      if (count.lookups + count.evictions + count.writebacks + count.staleReads + count.interventions > 0) {
        yield [master, count];
      }
    }
  }
}
