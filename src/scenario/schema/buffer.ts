import * as z from 'zod';
import { address, choice, nameOf, size } from './fields.js';

/** A named address range in a memory or device. */
export const bufferSchema = z
  .strictObject({
    memory: nameOf('a memory or device', 'Where it lies.', 'ddr'),
    base: address('Address within that memory.', 'the first free 4 KiB after the buffers above it there').optional(),
    size: size('Its length.', { example: '1 MiB' }),
    cached: choice(
      ['yes', 'no', 'combine'],
      'May caches hold it? combine is uncached, with stores merged up to a line.',
      'yes in DDR, no elsewhere',
    ).optional(),
  })
  .transform(({ memory, base, size: bytes, cached }) => ({
    memory,
    base: base ?? null,
    bytes,
    cached: cached ?? null,
  }));
