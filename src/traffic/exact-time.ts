const PS_PER_S = 1e12;

/**
 * How long a count of things (bytes, requests) takes at a steady pace: numerator/denominator ps each, rounded to whole ps
 * once for the whole count, so that nothing accumulates.
 */
export class ExactTime {
  constructor(
    private readonly numerator: number,
    private readonly denominator: number,
  ) {
    if (!(numerator > 0 && denominator > 0 && numerator / denominator < Infinity)) {
      throw new RangeError(`pace: must be above 0, got ${numerator}/${denominator} ps`);
    }
  }

  /** Bytes at a rate; one in whole bytes per second is reduced to lowest terms. */
  static perByte(bytesPerS: number): ExactTime {
    const divisor = Number.isSafeInteger(bytesPerS) ? commonDivisor(PS_PER_S, bytesPerS) : 1;
    return new ExactTime(PS_PER_S / divisor, bytesPerS / divisor);
  }

  /** Time of the whole `count`, in ps. */
  of(count: number): number {
    const whole = Math.floor(count / this.denominator);
    const rest = count - whole * this.denominator;
    return Math.round(whole * this.numerator) + Math.round((rest * this.numerator) / this.denominator);
  }
}

function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}
