import { rankOf } from './rank.js';

/** Values that one exact histogram may keep, unless it is told otherwise: 80 MB. */
export const KEPT_CAP = 10_000_000;

/** Too many values for an exact histogram; the message names it and says what to do. */
export class TooManyValuesError extends Error {
  override readonly name = 'TooManyValuesError';
}

/** Every recorded value of one histogram, for runs that ask for exact percentiles. */
export class KeptValues {
  private values = new Float64Array(1024);
  private size = 0;
  private sorted = true;

  /**
   * @param owner name of the histogram, for the error
   * @param cap most values that are kept
   */
  constructor(
    private readonly owner: string,
    private readonly cap: number,
  ) {}

  /** Throws TooManyValuesError past the cap. */
  add(value: number): void {
    if (this.size === this.values.length || this.size >= this.cap) this.grow();
    this.values[this.size++] = value;
    this.sorted = false;
  }

  merge(other: KeptValues): void {
    for (let i = 0; i < other.size; i++) this.add(other.values[i]!);
  }

  /** The smallest value that at least p of all values do not exceed; there must be one. */
  quantile(p: number): number {
    return this.inOrder()[rankOf(p, this.size) - 1]!;
  }

  /** How many values are at most `limit`. */
  countAtMost(limit: number): number {
    const values = this.inOrder();
    let low = 0;
    let high = values.length;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (values[middle]! <= limit) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  /** All values, ascending; a view that the next `add` may invalidate. */
  inOrder(): Float64Array {
    const used = this.values.subarray(0, this.size);
    if (!this.sorted) used.sort();
    this.sorted = true;
    return used;
  }

  private grow(): void {
    if (this.size >= this.cap) {
      throw new TooManyValuesError(
        `histogram ${this.owner}: more than ${this.cap} values to keep; ` +
          `shorten the run, or leave exact percentiles off (bins are within 0.8 %)`,
      );
    }
    const values = new Float64Array(Math.min(this.values.length * 2, Math.max(this.cap, this.values.length)));
    values.set(this.values);
    this.values = values;
  }
}
