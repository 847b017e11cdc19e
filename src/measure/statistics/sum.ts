// Hot path: `add` runs for every burst. The parts live in a typed array so that no double is boxed.

/** The upper part counts in units of 2^52, so that the lower part and one more value always fit a double exactly. */
const UNIT = 2 ** 52;
const HALF = 2 ** 26;
const QUARTER = 2 ** 25;

/**
 * An exact sum of non-negative whole numbers, in two parts. A plain double stops counting at 2^53, which the squares
 * of picosecond latencies pass at once. Exact up to a total of 2^105; since it is exact, the order of adding and
 * merging cannot change it.
 */
export class WholeSum {
  /** Upper part in units of 2^52, lower part below 2^52. */
  private readonly parts = new Float64Array(2);

  /** Adds a whole number from 0 to 2^53. */
  add(value: number): void {
    const parts = this.parts;
    let rest = value;
    if (rest >= UNIT) {
      const units = Math.floor(rest / UNIT);
      parts[0]! += units;
      rest -= units * UNIT;
    }
    const low = parts[1]! + rest;
    if (low >= UNIT) {
      parts[0]! += 1;
      parts[1] = low - UNIT;
    } else {
      parts[1] = low;
    }
  }

  /** Adds the square of a whole number below 2^52. */
  addSquare(value: number): void {
    if (value < HALF) {
      this.add(value * value);
      return;
    }
    // (a·2^26 + b)² = a²·2^52 + ab·2^27 + b², with ab cut once more so that every term is exact
    const a = Math.floor(value / HALF);
    const b = value - a * HALF;
    const cross = Math.floor((a * b) / QUARTER);
    this.parts[0]! += a * a + cross;
    this.add((a * b - cross * QUARTER) * 2 * HALF);
    this.add(b * b);
  }

  merge(other: WholeSum): void {
    this.parts[0]! += other.parts[0]!;
    this.add(other.parts[1]!);
  }

  /** The double nearest to the sum. */
  toNumber(): number {
    return this.parts[0]! * UNIT + this.parts[1]!;
  }

  /** The sum itself. */
  toBigInt(): bigint {
    return BigInt(this.parts[0]!) * BigInt(UNIT) + BigInt(this.parts[1]!);
  }

  /** Both parts, for a worker's message. */
  toPlain(): [number, number] {
    return [this.parts[0]!, this.parts[1]!];
  }

  static fromPlain(plain: [number, number]): WholeSum {
    const sum = new WholeSum();
    sum.parts.set(plain);
    return sum;
  }
}

/** numerator / denominator as the nearest double, or close to it; whole numbers of any size, denominator above 0. */
export function divideWhole(numerator: bigint, denominator: bigint): number {
  const whole = numerator / denominator;
  return Number(whole) + Number(numerator - whole * denominator) / Number(denominator);
}
