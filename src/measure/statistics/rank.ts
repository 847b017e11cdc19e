/**
 * Rank of the `p` quantile among `count` samples: the smallest whole number of at least p × count, and at least 1.
 * A product that misses a whole number only by the rounding of p itself (0.07 × 100 is 7.000000000000001) counts as it.
 */
export function rankOf(p: number, count: number): number {
  const product = p * count;
  const nearest = Math.round(product);
  const rank = Math.abs(product - nearest) <= product * 2 ** -50 ? nearest : Math.ceil(product);
  return Math.max(1, rank);
}
