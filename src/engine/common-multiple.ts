/** The greatest whole number that divides both. */
export function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}

/** Least common multiple of whole numbers; 0 when there is none, Infinity where it would exceed `limit`. */
export function commonMultiple(numbers: Iterable<number>, limit: number): number {
  let common = 0;
  for (const number of numbers) {
    common = common === 0 ? number : common * (number / commonDivisor(common, number));
    if (common > limit) return Infinity;
  }
  return common;
}
