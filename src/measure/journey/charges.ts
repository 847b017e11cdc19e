// Hot path: filled and emptied once per wait that is charged. One such list is used again and again.
import { widen } from '../../model/bursts.js';
import type { Chain } from './chains.js';

/** Spans that are kept in order of time. Beyond, time goes to what the same culprit has at the same element already. */
const IN_ORDER = 12;

/**
 * Whom to charge for one wait, from its beginning on. A short one is told instant by instant; of a long one, which may go
 * through hundreds of hands, the sums per culprit and element are what counts, and the order only as far as it is short.
 */
export class Charges {
  /** Where the list ends so far, in ps. */
  at = 0.5;
  private startedAt = 0.5;
  private spans = new Float64Array(64);
  /** Who is to blame, and where; see `keyOf`. */
  private keys = new Int32Array(64);
  private count = 0;

  /** Begins anew, at `fromPs`. */
  start(fromPs: number): void {
    this.at = fromPs;
    this.startedAt = fromPs;
    this.count = 0;
  }

  /** Who and where `key` says is to blame until `untilPs`. */
  add(key: number, untilPs: number): void {
    const span = untilPs - this.at;
    if (!(span > 0)) return;
    this.at = untilPs;
    const { keys, count } = this;
    const least = count > IN_ORDER ? 0 : count - 1;
    for (let i = count - 1; i >= least && i >= 0; i--) {
      if (keys[i] !== key) continue;
      this.spans[i]! += span;
      return;
    }
    if (count === keys.length) this.grow();
    this.spans[count] = span;
    this.keys[count] = key;
    this.count = count + 1;
  }

  /** Adds all of it to a chain, as time in `part`. */
  addTo(chain: Chain, part: number): void {
    let until = this.startedAt;
    for (let i = 0; i < this.count; i++) {
      until += this.spans[i]!;
      chain.reach(this.keys[i]! | part, until);
    }
  }

  private grow(): void {
    const size = this.keys.length * 2;
    this.spans = widen(this.spans, new Float64Array(size));
    this.keys = widen(this.keys, new Int32Array(size));
  }
}
