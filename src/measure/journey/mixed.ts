/** 2^32 over the golden ratio, which sets neighbouring numbers far apart. */
const GOLDEN = 0x9e3779b9;

/**
 * 32 bits, each of them dependent on all those of two numbers: multiply and shift, twice (common practice, no source). A sample
 * drawn by them falls in step with no pattern, and needs no stream of its own.
 */
export function mixed(one: number, other: number): number {
  let bits = Math.imul(one + 1, GOLDEN) + other;
  bits = Math.imul(bits ^ (bits >>> 16), 0x7feb352d);
  bits = Math.imul(bits ^ (bits >>> 15), 0x846ca68b);
  return (bits ^ (bits >>> 16)) >>> 0;
}

/** How often a share is halved that halves after 1, 3, 7 ... rounds, when so many are over. */
export function halvings(rounds: number): number {
  return 31 - Math.clz32(rounds + 1);
}
