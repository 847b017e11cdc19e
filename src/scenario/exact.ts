/** Exact arithmetic on decimal text, for clocks: no period is ever rounded. */

/** A reduced fraction, numerator/denominator, both positive. */
export interface ExactFraction {
  numerator: bigint;
  denominator: bigint;
}

/** The same within 53 bits, the product of the two included. */
export interface Fraction {
  numerator: number;
  denominator: number;
}

export function reduced(numerator: bigint, denominator: bigint): ExactFraction {
  let [a, b] = [numerator, denominator];
  while (b !== 0n) [a, b] = [b, a % b];
  return { numerator: numerator / a, denominator: denominator / a };
}

/** The value of digits such as `1.25`, times 10^exponent. The digits must be above zero. */
export function exactValue(digits: string, exponent: number): ExactFraction {
  const [integer, decimals = ''] = digits.replace('+', '').split('.');
  const scale = exponent - decimals.length;
  const mantissa = BigInt(integer! + decimals);
  return scale >= 0 ? reduced(mantissa * 10n ** BigInt(scale), 1n) : reduced(mantissa, 10n ** BigInt(-scale));
}

/** A fraction as numbers, or undefined where edges could not be counted exactly in doubles. */
export function asNumbers({ numerator, denominator }: ExactFraction): Fraction | undefined {
  if (numerator * denominator > BigInt(Number.MAX_SAFE_INTEGER)) return undefined;
  return { numerator: Number(numerator), denominator: Number(denominator) };
}
