// Hot path: once per burst, a few sums each. Sums are found by number; nothing is allocated but for a new culprit.
import { widen } from '../../model/bursts.js';
import { Sums } from '../statistics/sums.js';
import { REFRESH } from './books.js';
import type { Chain } from './chains.js';
import { SURE, WAITS } from './stage.js';

/** What a path waited for in one replication, as plain data. */
export interface BlamePlain {
  /** Bursts, and those of them whose waiting was charged. */
  readonly count: number;
  readonly charged: number;
  /**
   * In order of culprit, then element: how long all bursts waited due to it, in ps. Exact where all were charged; else what is
   * not known without that is shared out as among those that were, so that all add up to the waiting still.
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
  private count = 0;
  private charged = 0;
  /** By culprit and element: the place of their sums, or −1. */
  private readonly dense: Int32Array | null;
  private readonly sparse = new Map<number, number>();
  private keys = new Int32Array(FIRST_SIZE);
  /** What is sure of all bursts; the rest of those that were charged, as often as each stands for others. */
  private readonly sure = new Sums(FIRST_SIZE);
  private readonly drawn = new Sums(FIRST_SIZE);
  /** As the only sum: the rest of all bursts, whomever it is due to. */
  private readonly rest = new Sums(1);
  private known = 0;

  constructor(
    private readonly master: number,
    private readonly masters: readonly string[],
    private readonly elements: readonly string[],
  ) {
    const pairs = (masters.length + 1) * elements.length;
    this.dense = pairs <= DENSE ? new Int32Array(pairs).fill(-1) : null;
  }

  /** Counts a burst of which the chain is whole, and whose waiting is charged and stands for `weight` bursts, or is not (0). */
  record(chain: Chain, weight: number): void {
    this.count++;
    if (weight > 0) this.charged++;
    const links = chain.count;
    let { from } = chain;
    for (let link = 0; link < links; link++) {
      const until = chain.untilOf(link);
      const part = chain.partOf(link);
      if (WAITS[part] === 1) this.wait(chain, link, until - from, SURE[part] === 1, weight);
      from = until;
    }
  }

  /** Call once, after the run. */
  toPlain(): BlamePlain {
    const places = [...this.keys.subarray(0, this.known).keys()].toSorted((a, b) => this.keys[a]! - this.keys[b]!);
    const drawn = places.reduce((sum, place) => sum + this.drawn.of(place), 0);
    const scale = drawn > 0 ? this.rest.of(0) / drawn : 0;
    const charges = places.map((place) => {
      const key = this.keys[place]!;
      const culprit = Math.floor(key / this.elements.length) - 1;
      const element = this.elements[key % this.elements.length]!;
      return { culprit: this.nameOf(culprit), element, ps: this.sure.of(place) + this.drawn.of(place) * scale };
    });
    return { count: this.count, charged: this.charged, charges };
  }

  private wait(chain: Chain, link: number, ps: number, sure: boolean, weight: number): void {
    if (!sure) this.rest.add(0, ps);
    if (!sure && weight === 0) return;
    const place = this.placeOf(chain.culpritOf(link), chain.elementOf(link));
    if (sure) this.sure.add(place, ps);
    else this.drawn.add(place, ps * weight);
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
      this.sure.grow(size);
      this.drawn.grow(size);
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
