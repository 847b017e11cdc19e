import * as z from 'zod';
import { arbitration } from './arbitration.js';
import { choice, count, limit, size, width } from './fields.js';
import { distribution } from './distribution.js';
import { clockOrNone, sync } from './links.js';

/** A slave with servers: register blocks, flash controllers, the servers of queueing theory. */
export const deviceSchema = z
  .strictObject({
    clock: clockOrNone.prefault('none'),
    width: width('Data width.').prefault('32 bit'),
    sync,
    size: size('Bytes of its address range.', { example: '4 KiB' }).prefault('1 MiB'),
    servers: count('Bursts that are served at once.', { example: '1' }).prefault(1),
    service: distribution('time', 'Time that each burst occupies a server.', { example: '100 ns' }),
    queue_depth: limit('Bursts waiting, beyond those in service.', { example: '16' }).prefault('unlimited'),
    full: choice(
      ['hold', 'lose'],
      'What a full queue does: hold the sender back, or lose the burst (counted).',
    ).prefault('hold'),
    arbitration: arbitration('oldest'),
  })
  .transform((keys) => ({
    kind: 'device' as const,
    /** null: unclocked, acts to the picosecond. */
    clock: keys.clock,
    widthBytes: keys.width,
    syncCycles: keys.sync,
    bytes: keys.size,
    servers: keys.servers,
    service: keys.service,
    /** Bursts waiting, beyond those in service; Infinity for unlimited. */
    queueDepth: keys.queue_depth,
    /** What a full queue does: hold the sender back, or lose the burst (counted). */
    full: keys.full,
    discipline: keys.arbitration,
  }));
