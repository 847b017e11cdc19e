import * as z from 'zod';
import { arbitration } from './arbitration.js';
import { count, cycles, meta, size, width } from './fields.js';
import { clock, queue, sync } from './links.js';

/** A memory on the chip: banks without rows and refresh. */
export const onChipSchema = z
  .strictObject({
    kind: z.literal('onchip').meta({ ...meta('A memory on the chip.', 'onchip', '', 'onchip') }),
    clock,
    width: width('Data width of each bank.'),
    sync,
    size: size('Bytes it holds.', { example: '192 KiB' }),
    banks: count('Banks that can work at once.', { example: '4' }).prefault(1),
    interleave: size('Bytes after which the next bank is used.', { example: '64 B' }).prefault('64 B'),
    access: cycles('Cycles of an access.', { min: 1, example: '2 cycles' }),
    queue_depth: queue('Bursts that each input can hold, for reads and for writes.'),
    arbitration: arbitration(),
  })
  .transform((keys) => ({
    kind: 'onchip' as const,
    clock: keys.clock,
    widthBytes: keys.width,
    syncCycles: keys.sync,
    bytes: keys.size,
    banks: keys.banks,
    interleaveBytes: keys.interleave,
    accessCycles: keys.access,
    queueDepth: keys.queue_depth,
    arbitration: keys.arbitration,
  }));
