// Hot path: once per burst, a few sums each. Sums are found by number; nothing is allocated but for a new culprit.
import { widen } from '../../model/bursts.js';
import { Sums } from '../statistics/sums.js';
import { REFRESH } from './books.js';
import type { Chain } from './chains.js';
import { WAITS } from './stage.js';
import { BINS, binOf, type Strata } from './strata.js';

/** What a path waited for in one replication, as plain data. */
export interface BlamePlain {
  /** Bursts, and those of them whose waiting was charged. */
  readonly count: number;
  readonly charged: number;
  /**
   * In order of culprit, then element: how long all bursts waited due to it, in ps. Exact where all were charged; else bin by
   * bin of latency as those that were.
   */
  readonly charges: readonly { readonly culprit: string; readonly element: string; readonly ps: number }[];
}

/** Names of culprits that are no other master. */
export const ITSELF = '(itself)';
export const BY_REFRESH = '(refresh)';

/** Pairs of culprit and element up to which their places are looked up in an array; more are few of very many. */
const DENSE = 4096;
const FIRST_SIZE = 8;

/** Who the bursts of a path waited for, and where. */
export class BlameTally {
  private charged = 0;
  /** By culprit and element: the place of their sums, or −1. */
  private readonly dense: Int32Array | null;
  private readonly sparse = new Map<number, number>();
  private keys = new Int32Array(FIRST_SIZE);
  private known = 0;
  /** By bin of latency: latencies, and by place waiting, of those that were charged, as often as each stands for others. */
  private readonly drawn = new Sums(BINS);
  private readonly waits: (Sums | undefined)[] = [];

  /** @param strata all bursts of the path; whoever records one here has counted it there */
  constructor(
    private readonly master: number,
    private readonly masters: readonly string[],
    private readonly elements: readonly string[],
    private readonly strata: Strata,
  ) {
    const pairs = (masters.length + 1) * elements.length;
    this.dense = pairs <= DENSE ? new Int32Array(pairs).fill(-1) : null;
  }

  /** Counts a burst of which the chain is whole, whose waiting is charged, and which stands for `weight` bursts. */
  record(chain: Chain, weight: number): void {
    const { count: links, from: start, end } = chain;
    const bin = binOf(end - start);
    const waits = (this.waits[bin] ??= new Sums(this.keys.length));
    this.charged++;
    this.drawn.add(bin, (end - start) * weight);
    let from = start;
    for (let link = 0; link < links; link++) {
      const until = chain.untilOf(link);
      if (WAITS[chain.partOf(link)] === 1) {
        waits.add(this.placeOf(chain.culpritOf(link), chain.elementOf(link)), (until - from) * weight);
      }
      from = until;
    }
  }

  /** Call once, after the run. */
  toPlain(): BlamePlain {
    const places = [...this.keys.subarray(0, this.known).keys()].toSorted((a, b) => this.keys[a]! - this.keys[b]!);
    const by = this.strata.by(this.drawn);
    const charges = places.map((place) => {
      const key = this.keys[place]!;
      const culprit = Math.floor(key / this.elements.length) - 1;
      const element = this.elements[key % this.elements.length]!;
      const ps = by.reduce((sum, { like, scale }) => sum + (this.waits[like]?.of(place) ?? 0) * scale, 0);
      return { culprit: this.nameOf(culprit), element, ps };
    });
    return { count: this.strata.bursts, charged: this.charged, charges };
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
      for (const waits of this.waits) waits?.grow(size);
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
