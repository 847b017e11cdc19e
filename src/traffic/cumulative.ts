/** Running sums of `count` weights that are not negative; the last is their total. */
export function runningSums(count: number, weight: (index: number) => number): Float64Array {
  const sums = new Float64Array(count);
  let total = 0;
  for (let index = 0; index < count; index++) {
    total += weight(index);
    sums[index] = total;
  }
  return sums;
}

/**
 * The index that a uniform number `u` in [0, 1) falls on, each in proportion to its weight: the first whose running sum
 * is above u × total. One of weight 0 is never answered.
 */
export function weightedIndex(sums: Float64Array, u: number): number {
  const last = sums.length - 1;
  const target = u * sums[last]!;
  let low = 0;
  let high = last;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (sums[middle]! > target) high = middle;
    else low = middle + 1;
  }
  return low;
}
