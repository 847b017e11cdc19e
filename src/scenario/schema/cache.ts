import * as z from 'zod';
import { choice, count, size, yesNo } from './fields.js';

const keys = {
  size: size('Bytes of data; a whole number of sets.', { example: '32 KiB' }),
  ways: count('Ways of each set.', { example: '4' }),
  replacement: choice(['lru', 'tree_plru', 'fifo', 'random'], 'Which line of a full set goes.').prefault('lru'),
};

/** A private first-level cache. */
export const l1Schema = z
  .strictObject(keys)
  .transform(({ size: bytes, ways, replacement }) => ({ bytes, ways, replacement }));

/** The shared second-level cache. */
export const l2Schema = z
  .strictObject({
    ...keys,
    inclusive: yesNo('Does L2 hold every line that an L1 holds? Its evictions then invalidate L1 copies.').prefault(
      'yes',
    ),
  })
  .transform(({ size: bytes, ways, replacement, inclusive }) => ({ bytes, ways, replacement, inclusive }));
