// a constant of the file takes less code to call than a property of `Math`: as little as is always compiled into whoever asks
const { ceil } = Math;

/**
 * A clock whose period is the reduced fraction numerator/denominator of a picosecond.
 *
 * Edge q·d + r (0 ≤ r < d) lies at q·n + round(r·n/d): whole picoseconds, and no rounded period is ever accumulated.
 * Times and edge numbers are whole numbers in doubles, exact to 2^53.
 */
export class Clock {
  /** What `roundedIndex` is asked, what `round` finds: fields, as a time that is passed or answered is put on the heap. */
  private askedPs = 0.5;
  private roundedPs = 0.5;

  constructor(
    readonly name: string,
    readonly numerator: number,
    readonly denominator: number,
  ) {
    const whole = Number.isSafeInteger(numerator) && Number.isSafeInteger(denominator);
    if (!whole || numerator < denominator || denominator < 1) {
      throw new RangeError(
        `clock ${name}: period must be a fraction of at least 1 ps, got ${numerator}/${denominator}`,
      );
    }
    if (!Number.isSafeInteger(numerator * denominator)) {
      throw new RangeError(`clock ${name}: period ${numerator}/${denominator} ps needs more than 53 bits`);
    }
  }

  /** Time of edge `index`, in ps. As short as can be, so that it is always compiled into whoever asks. */
  at(index: number): number {
    return this.denominator === 1 ? index * this.numerator : this.round(index).roundedPs;
  }

  /** Number of the first edge at or after `timePs`. */
  indexFrom(timePs: number): number {
    if (this.denominator === 1) return ceil(timePs / this.numerator);
    this.askedPs = timePs;
    return this.roundedIndex();
  }

  // apart, so that the short way of a whole period is taken into whoever asks
  private round(index: number): this {
    const q = Math.floor(index / this.denominator);
    const r = index - q * this.denominator;
    this.roundedPs = q * this.numerator + Math.round((r * this.numerator) / this.denominator);
    return this;
  }

  private roundedIndex(): number {
    const timePs = this.askedPs;
    // the quotient is within one of the answer: rounding moves an edge by at most half a picosecond
    const q = Math.floor(timePs / this.numerator);
    let index = q * this.denominator + Math.floor(((timePs - q * this.numerator) * this.denominator) / this.numerator);
    while (index > 0 && this.at(index - 1) >= timePs) index--;
    while (this.at(index) < timePs) index++;
    return index;
  }

  /** The first edge at or after `timePs`, as a time. */
  edgeFrom(timePs: number): number {
    return this.at(this.indexFrom(timePs));
  }

  /** The edge `cycles` after the first edge at or after `timePs`, as a time. */
  after(timePs: number, cycles: number): number {
    return this.at(this.indexFrom(timePs) + cycles);
  }
}

/** An element without a clock acts at every picosecond. */
export const unclocked = (): Clock => new Clock('none', 1, 1);

/**
 * When what arrives at `timePs` from clock `from` is usable in clock `to`: at edge i + sync, where i is the first
 * receiving edge at or after the arrival; with the same clock on both sides, or none on either, no synchroniser is paid.
 */
export function crossing(from: Clock, to: Clock, syncCycles: number): number {
  return from.name === to.name || from.name === 'none' || to.name === 'none' ? 0 : syncCycles;
}
