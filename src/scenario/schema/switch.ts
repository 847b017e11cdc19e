import * as z from 'zod';
import { arbitration } from './arbitration.js';
import { choice, width } from './fields.js';
import { back, clock, forward, pack, queue, sync, to, writeResponse } from './links.js';

/** A crossbar. */
export const switchSchema = z
  .strictObject({
    clock,
    width: width('Data width.'),
    to,
    forward: forward('2 cycles'),
    back,
    sync,
    queue_depth: queue('Bursts that each input can hold, for reads and for writes.'),
    queues: choice(
      ['per_input', 'per_output'],
      'One queue an input, whose head blocks those behind it, or one for each output.',
    ).prefault('per_input'),
    pack,
    write_response: writeResponse,
    arbitration: arbitration(),
  })
  .transform((keys) => ({
    kind: 'switch' as const,
    clock: keys.clock,
    widthBytes: keys.width,
    to: keys.to,
    forwardCycles: keys.forward,
    backwardCycles: keys.back,
    syncCycles: keys.sync,
    queueDepth: keys.queue_depth,
    queues: keys.queues,
    pack: keys.pack,
    writeResponse: keys.write_response,
    arbitration: keys.arbitration,
  }));
