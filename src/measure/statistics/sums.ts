// Hot path: several additions per burst. Nothing is allocated but where it grows.
import { widen } from '../../model/bursts.js';

/** The upper part counts in units of 2^52, so that the lower part and one more value always fit a double exactly. */
const UNIT = 2 ** 52;

/** Many exact sums of non-negative whole numbers below 2^52, by number: each in two parts, as a plain double stops at 2^53. */
export class Sums {
  private low: Float64Array;
  private high: Float64Array;

  /** @param size how many there are at first */
  constructor(size: number) {
    this.low = new Float64Array(size);
    this.high = new Float64Array(size);
  }

  /** Adds to sum `at`, which there is. */
  add(at: number, value: number): void {
    const sum = this.low[at]! + value;
    if (sum < UNIT) {
      this.low[at] = sum;
      return;
    }
    this.low[at] = sum - UNIT;
    this.high[at]!++;
  }

  /** The sum, to the nearest double. */
  of(at: number): number {
    return this.high[at]! * UNIT + this.low[at]!;
  }

  /** Makes room for `size` of them. */
  grow(size: number): void {
    this.low = widen(this.low, new Float64Array(size));
    this.high = widen(this.high, new Float64Array(size));
  }
}
