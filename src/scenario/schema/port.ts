import * as z from 'zod';
import { arbitration } from './arbitration.js';
import { choice, count, limit, meta, rate, size, width } from './fields.js';
import { back, clock, forward, outstanding, pack, queue, sync, to, writeResponse } from './links.js';

const bursts = () => limit('Bursts in flight beyond the port.', { example: '8' });

const returnSpace = z
  .union([z.literal('as_needed').transform(() => Infinity), size('Bytes of read data.', { example: '2 KiB' })])
  .meta({
    ...meta(
      'Read data that the port can hold; a read leaves only when its data has space. as_needed never holds a read back.',
      `size or 'as_needed'`,
      'B, KiB, MiB',
      '2 KiB',
    ),
  })
  .prefault('as_needed');

const regulator = z
  .strictObject({
    rate: rate('Bytes per second let through, for reads and for writes apart.', { example: '400 MB/s' }),
    depth: size('Bytes that may pass at once after a pause.', { example: '2 KiB' }),
  })
  .meta({
    ...meta('Token bucket on the traffic of the port.', 'mapping', '', '{rate: 400 MB/s, depth: 2 KiB}', 'none'),
  })
  .optional();

/** A port: where masters enter. */
export const portSchema = z
  .strictObject({
    clock,
    width: width('Data width.'),
    to,
    forward: forward('1 cycle'),
    back,
    sync,
    queue_depth: queue('Bursts that each master may have waiting in the port, for reads and for writes.', 8),
    outstanding: outstanding('Bursts of all masters in flight beyond the port.', bursts).prefault(8),
    return_space: returnSpace,
    qos: count('Overrides the QoS of the masters.', {
      min: 0,
      max: 15,
      example: '12',
      otherwise: `the masters'`,
    }).optional(),
    regulator,
    in_flight: limit('Bursts in flight of both directions together.', { example: '4' }).prefault('unlimited'),
    pack,
    write_start: choice(
      ['whole_burst', 'first_beat'],
      'Is a write requested when its whole burst is there, or at its first beat?',
    ).prefault('whole_burst'),
    write_response: writeResponse,
    arbitration: arbitration(),
  })
  .transform((keys) => ({
    kind: 'port' as const,
    clock: keys.clock,
    widthBytes: keys.width,
    to: keys.to,
    forwardCycles: keys.forward,
    backwardCycles: keys.back,
    syncCycles: keys.sync,
    /** Bursts each master may have waiting in this port, for reads and for writes. */
    queueDepth: keys.queue_depth,
    /** Bursts of all masters in flight beyond this port; Infinity for unlimited. */
    maxReads: keys.outstanding.reads,
    maxWrites: keys.outstanding.writes,
    /** Bytes of read data the port can hold; Infinity for as much as its outstanding reads need. */
    returnSpaceBytes: keys.return_space,
    /** Overrides the masters' QoS; null keeps it. */
    qos: keys.qos ?? null,
    /** Token bucket on bytes; null for none. */
    regulator:
      keys.regulator === undefined ? null : { bytesPerS: keys.regulator.rate, depthBytes: keys.regulator.depth },
    /** Limit on bursts in flight of both directions together; Infinity for none. */
    inFlight: keys.in_flight,
    pack: keys.pack,
    writeStart: keys.write_start,
    writeResponse: keys.write_response,
    arbitration: keys.arbitration,
  }));
