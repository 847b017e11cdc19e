// Hot path: one call per lookup. State is in typed arrays, one entry a way or a tree bit.
import type { Replacement } from '../../scenario/scenario.js';

/** Uniform draw in [0, 1) for the victim of a set's `evictionNumber`-th eviction (from 0). */
export type VictimDraw = (set: number, evictionNumber: number) => number;

/**
 * Which valid way of a full set makes room. A way is `set * ways + way`; `blocked` is non-zero for ways that may not be
 * chosen now (a line on its way in). Invalid ways are the tag store's business: it fills the lowest-numbered first.
 */
export interface ReplacementRule {
  /** An access hit the way. */
  hit(set: number, way: number): void;
  /** A line was put into the way. */
  filled(set: number, way: number): void;
  /** The way to evict, or −1 if all are blocked. Changes nothing. */
  victim(set: number, blocked: Uint8Array): number;
  /** A line was evicted from the set. */
  evicted(set: number): void;
}

/** Makes the rule for a cache of `sets` × `ways`; tree-PLRU needs a power of two of ways, random a draw. */
export function makeRule(kind: Replacement, sets: number, ways: number, draw: VictimDraw): ReplacementRule {
  switch (kind) {
    case 'lru':
      return new Oldest(sets, ways, true);
    case 'fifo':
      return new Oldest(sets, ways, false);
    case 'tree_plru':
      return new TreePlru(sets, ways);
    case 'random':
      return new RandomVictim(sets, ways, draw);
  }
}

/** Evicts the way with the oldest stamp: of use (LRU, `onHit`) or of fill (FIFO). */
class Oldest implements ReplacementRule {
  private readonly stamps: Float64Array;
  private next = 1;

  constructor(
    sets: number,
    private readonly ways: number,
    private readonly onHit: boolean,
  ) {
    this.stamps = new Float64Array(sets * ways);
  }

  hit(set: number, way: number): void {
    if (this.onHit) this.filled(set, way);
  }

  filled(set: number, way: number): void {
    this.stamps[set * this.ways + way] = this.next++;
  }

  victim(set: number, blocked: Uint8Array): number {
    const base = set * this.ways;
    let best = -1;
    for (let way = 0; way < this.ways; way++) {
      if (blocked[base + way] !== 0) continue;
      if (best < 0 || this.stamps[base + way]! < this.stamps[base + best]!) best = way;
    }
    return best;
  }

  evicted(): void {}
}

/**
 * A binary tree of ways − 1 bits per set, all 0 at reset. Bit 0 sends the victim to the lower half; every access points
 * the bits on its path away from the way used. Node n has children 2n + 1 and 2n + 2.
 */
class TreePlru implements ReplacementRule {
  private readonly bits: Uint8Array;

  constructor(
    sets: number,
    private readonly ways: number,
  ) {
    if ((ways & (ways - 1)) !== 0) throw new RangeError(`tree_plru: ways must be a power of two, got ${ways}`);
    this.bits = new Uint8Array(sets * (ways - 1));
  }

  hit(set: number, way: number): void {
    const base = set * (this.ways - 1);
    let node = 0;
    for (let half = this.ways >> 1; half > 0; half >>= 1) {
      const upper = (way & half) !== 0;
      this.bits[base + node] = upper ? 0 : 1;
      node = 2 * node + (upper ? 2 : 1);
    }
  }

  filled(set: number, way: number): void {
    this.hit(set, way);
  }

  victim(set: number, blocked: Uint8Array): number {
    const base = set * (this.ways - 1);
    let node = 0;
    let way = 0;
    for (let half = this.ways >> 1; half > 0; half >>= 1) {
      const upper = this.bits[base + node] !== 0;
      if (upper) way |= half;
      node = 2 * node + (upper ? 2 : 1);
    }
    return nextFree(blocked, set * this.ways, this.ways, way);
  }

  evicted(): void {}
}

/** Uniform over the ways, by set and eviction number, so that it does not depend on the order of service. */
class RandomVictim implements ReplacementRule {
  private readonly evictions: Float64Array;

  constructor(
    sets: number,
    private readonly ways: number,
    private readonly draw: VictimDraw,
  ) {
    this.evictions = new Float64Array(sets);
  }

  hit(): void {}

  filled(): void {}

  victim(set: number, blocked: Uint8Array): number {
    const way = Math.floor(this.draw(set, this.evictions[set]!) * this.ways);
    return nextFree(blocked, set * this.ways, this.ways, way);
  }

  evicted(set: number): void {
    this.evictions[set]!++;
  }
}

/** The first way from `way` on, around the set, that is not blocked. */
function nextFree(blocked: Uint8Array, base: number, ways: number, way: number): number {
  for (let i = 0; i < ways; i++) {
    const candidate = (way + i) % ways;
    if (blocked[base + candidate] === 0) return candidate;
  }
  return -1;
}
