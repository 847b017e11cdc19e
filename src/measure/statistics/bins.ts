/**
 * The bins of every histogram: whole picoseconds below 64, then 64 bins to each octave, all of one width within it.
 * Bin 64·b + c is cell c of block b; block 0 holds 0 to 63, block b ≥ 1 holds 2^(b+5) to 2^(b+6).
 */

/** Bins in a block. */
export const CELLS = 64;
/** Blocks up to the largest value. */
export const BLOCKS = 47;
/** Values stay below this, about 75 minutes. */
export const VALUE_LIMIT = 2 ** 52;

/** Powers of two from 2^0, since `2 ** n` costs far more than a read. */
export const POWERS: readonly number[] = Array.from({ length: 53 }, (_, n) => 2 ** n);

/** Width of the bin in ps, at least 1. */
export function binWidth(bin: number): number {
  return POWERS[Math.max(0, Math.floor(bin / CELLS) - 1)]!;
}

/** Smallest value of the bin, in ps. */
export function binLow(bin: number): number {
  return bin < CELLS ? bin : (CELLS + (bin % CELLS)) * binWidth(bin);
}

/** What a bin is read as: the middle of [low, low + width), which is never off by more than 1/128 of the value. */
export function binMiddle(bin: number): number {
  return binLow(bin) + Math.floor(binWidth(bin) / 2);
}
