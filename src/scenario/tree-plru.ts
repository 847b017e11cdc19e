import type { CacheSpec } from './scenario.js';

export const TREE_RULE = 'ways must be a power of two for tree_plru';
export const TREE_HINT = 'write e.g. 8, or another replacement';

/** A tree of bits over the ways of a set needs a power of two of them. */
export function waysFit({ ways, replacement }: Pick<CacheSpec, 'ways' | 'replacement'>): boolean {
  return replacement !== 'tree_plru' || Number.isInteger(Math.log2(ways));
}
