// Hot path: once per burst, a few sums each. Sums are found by number; nothing is allocated but for a new culprit.
import { widen } from '../../model/bursts.js';
import { REFRESH } from './books.js';
import type { Chains } from './chains.js';
import { WAITS } from './stage.js';

/** What a path waited for in one replication, as plain data. */
export interface BlamePlain {
  /** Bursts, and those of them whose waiting was charged. */
  readonly count: number;
  readonly charged: number;
  /** In order of culprit, then element. */
  readonly charges: readonly { readonly culprit: string; readonly element: string; readonly ps: number }[];
}

/** Names of culprits that are no other master. */
export const ITSELF = '(itself)';
export const BY_REFRESH = '(refresh)';

/** Pairs of culprit and element up to which their places are looked up in an array; more are few of very many. */
const DENSE = 4096;
/** Sums are kept in two parts: units of 2^52, and the rest. */
const UNIT = 2 ** 52;

/** Who the bursts of a path waited for, and where. */
export class BlameTally {
  private count = 0;
  private charged = 0;
  /** By culprit and element: the place of their sum, or −1. */
  private readonly dense: Int32Array | null;
  private readonly sparse = new Map<number, number>();
  private keys = new Int32Array(8);
  private low = new Float64Array(8);
  private high = new Float64Array(8);
  private known = 0;

  constructor(
    private readonly master: number,
    private readonly masters: readonly string[],
    private readonly elements: readonly string[],
  ) {
    const pairs = (masters.length + 1) * elements.length;
    this.dense = pairs <= DENSE ? new Int32Array(pairs).fill(-1) : null;
  }

  /** Counts a burst of which the chain is whole, and whose waiting was charged or not. */
  record(chains: Chains, slot: number, charged: boolean): void {
    this.count++;
    if (!charged) return;
    this.charged++;
    const links = chains.count(slot);
    let from = chains.from(slot);
    for (let link = 0; link < links; link++) {
      const until = chains.untilOf(slot, link);
      if (WAITS[chains.partOf(slot, link)] === 1) {
        this.add(this.placeOf(chains.culpritOf(slot, link), chains.elementOf(slot, link)), until - from);
      }
      from = until;
    }
  }

  /** Call once, after the run. */
  toPlain(): BlamePlain {
    const places = [...this.keys.subarray(0, this.known).keys()].toSorted((a, b) => this.keys[a]! - this.keys[b]!);
    const charges = places.map((place) => {
      const key = this.keys[place]!;
      const culprit = Math.floor(key / this.elements.length) - 1;
      const element = this.elements[key % this.elements.length]!;
      return { culprit: this.nameOf(culprit), element, ps: this.high[place]! * UNIT + this.low[place]! };
    });
    return { count: this.count, charged: this.charged, charges };
  }

  private add(place: number, ps: number): void {
    const sum = this.low[place]! + ps;
    if (sum < UNIT) {
      this.low[place] = sum;
      return;
    }
    this.low[place] = sum - UNIT;
    this.high[place]!++;
  }

  private placeOf(culprit: number, element: number): number {
    const key = (culprit + 1) * this.elements.length + element;
    const place = this.dense === null ? (this.sparse.get(key) ?? -1) : this.dense[key]!;
    return place >= 0 ? place : this.newPlace(key);
  }

  private newPlace(key: number): number {
    if (this.known === this.keys.length) {
      const size = this.known * 2;
      this.keys = widen(this.keys, new Int32Array(size));
      this.low = widen(this.low, new Float64Array(size));
      this.high = widen(this.high, new Float64Array(size));
    }
    const place = this.known++;
    this.keys[place] = key;
    if (this.dense === null) this.sparse.set(key, place);
    else this.dense[key] = place;
    return place;
  }

  private nameOf(culprit: number): string {
    if (culprit === REFRESH) return BY_REFRESH;
    return culprit === this.master ? ITSELF : this.masters[culprit]!;
  }
}
