// Hot path: once per burst, a few sums each. Sums are found by number; nothing is allocated but for a new culprit.
import { WholeSum } from '../sum.js';
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

/** Who the bursts of a path waited for, and where. */
export class BlameTally {
  private count = 0;
  private charged = 0;
  /** By culprit and element. */
  private readonly sums = new Map<number, WholeSum>();

  constructor(
    private readonly master: number,
    private readonly masters: readonly string[],
    private readonly elements: readonly string[],
  ) {}

  /** Counts a burst of which the chain is whole, and whose waiting was charged or not. */
  record(chains: Chains, slot: number, charged: boolean): void {
    this.count++;
    if (!charged) return;
    this.charged++;
    let from = chains.from(slot);
    for (let link = 0; link < chains.count(slot); link++) {
      const until = chains.untilOf(slot, link);
      if (WAITS[chains.partOf(slot, link)] === 1) {
        this.sumOf(chains.culpritOf(slot, link), chains.elementOf(slot, link)).add(until - from);
      }
      from = until;
    }
  }

  /** Call once, after the run. */
  toPlain(): BlamePlain {
    const keys = [...this.sums.keys()].toSorted((a, b) => a - b);
    const charges = keys.map((key) => {
      const culprit = Math.floor(key / this.elements.length) - 1;
      const element = this.elements[key % this.elements.length]!;
      return { culprit: this.nameOf(culprit), element, ps: this.sums.get(key)!.toNumber() };
    });
    return { count: this.count, charged: this.charged, charges };
  }

  private nameOf(culprit: number): string {
    if (culprit === REFRESH) return BY_REFRESH;
    return culprit === this.master ? ITSELF : this.masters[culprit]!;
  }

  private sumOf(culprit: number, element: number): WholeSum {
    const key = (culprit + 1) * this.elements.length + element;
    let sum = this.sums.get(key);
    if (sum === undefined) this.sums.set(key, (sum = new WholeSum()));
    return sum;
  }
}
