import * as z from 'zod';
import { arbitration } from './arbitration.js';
import { l2Schema } from './cache.js';
import { choice, count, cycles, meta, report, share, size, width, yesNo } from './fields.js';
import { clock, queue, sync, to } from './links.js';

const bypass = z
  .strictObject({
    forward: cycles('Cycles for requests past the tags.', { min: 1, example: '2 cycles' }).prefault('2 cycles'),
    back: cycles('Cycles for their responses.', { min: 1, example: '1 cycle' }).prefault('1 cycle'),
  })
  .meta({
    ...meta('The way past the tags for what is not cached.', 'mapping', '', '{forward: 2 cycles, back: 1 cycle}'),
  })
  .prefault({});

const allocate = z
  .strictObject({
    reads: yesNo('Do read misses of coherent ports fill L2?').prefault('yes'),
    writes: yesNo('Do writes of coherent ports stay in L2?').prefault('yes'),
  })
  .meta({ ...meta('What accesses of coherent ports leave in L2.', 'mapping', '', '{reads: yes, writes: no}') })
  .prefault({});

/** The unit that cores and coherent ports share: tag pipeline, L2, and the way past it to uncached targets. */
export const coherenceSchema = z
  .strictObject({
    clock,
    width: width('Width of the L2 data path.'),
    line: size('Bytes of a cache line, for L2 and every L1.', { example: '64 B' }).prefault('64 B'),
    to,
    sync,
    model: choice(
      ['structural', 'statistical'],
      'Real tags with MESI states, or hits drawn by the ratio that each master states.',
    ).prefault('structural'),
    l2: l2Schema.meta({ ...meta('The shared cache.', 'mapping', '', '{size: 1 MiB, ways: 16}') }),
    lookup: cycles('Cycles of a tag lookup; one may start each cycle.', { min: 1, example: '6 cycles' }),
    data: cycles('Cycles of L2 data after a hit, before the first beat.', { example: '8 cycles' }),
    intervention: cycles('Cycles of a read that is served out of another L1, on top of the lookup.', {
      example: '14 cycles',
    }),
    upgrade: cycles('Cycles of a snoop that makes a shared line exclusive, on top of the lookup.', {
      example: '14 cycles',
      otherwise: 'as intervention',
    }).optional(),
    fill: cycles('Cycles from the data of a fill to the first beat of the response.', { example: '1 cycle' }).prefault(
      '1 cycle',
    ),
    bypass,
    queue_depth: queue('Bursts that each input can hold, for reads and for writes.'),
    miss_entries: count('Misses in flight at once, of all requesters.', { example: '16' }),
    min_miss_entries: count('Miss entries that each requester can always have.', { example: '2' }).prefault(1),
    writeback_slots: count('Lines that can wait to be written back.', { example: '8' }),
    partial_write_miss: choice(
      ['fetch', 'through'],
      'A write of part of a line that misses: fetch the line and merge, or pass the write on to memory.',
    ).prefault('fetch'),
    allocate,
    dirty_share: share('statistical: share of the victims that are written back.').prefault('30 %'),
    arbitration: arbitration(),
  })
  .transform((keys, ctx) => {
    const sets = keys.l2.bytes / (keys.line * keys.l2.ways);
    if (!Number.isInteger(Math.log2(keys.line))) {
      report(ctx, { code: 'out_of_range', message: 'must be a power of two', hint: `write e.g. '64 B'` }, keys, [
        'line',
      ]);
    } else if (!Number.isInteger(sets) || sets < 1) {
      const message = `must be a whole number of sets of ${keys.l2.ways} × ${keys.line} B`;
      report(ctx, { code: 'out_of_range', message, hint: `write e.g. '1 MiB'` }, keys, ['l2', 'size']);
    }
    return {
      kind: 'coherence' as const,
      clock: keys.clock,
      widthBytes: keys.width,
      lineBytes: keys.line,
      to: keys.to,
      syncCycles: keys.sync,
      model: keys.model,
      l2: keys.l2,
      lookupCycles: keys.lookup,
      /** L2 data after a hit, before the first beat. */
      dataCycles: keys.data,
      /** A read served from a core's L1 (owner becomes Shared), on top of the lookup. */
      interventionCycles: keys.intervention,
      /** A write hit on a Shared line, or an ownership upgrade, on top of the lookup. */
      upgradeCycles: keys.upgrade ?? keys.intervention,
      /** Cycles from fill data to the response's first beat. */
      fillCycles: keys.fill,
      /** Cycles through the unit for what is not cached, each way. */
      bypassForwardCycles: keys.bypass.forward,
      bypassBackwardCycles: keys.bypass.back,
      queueDepth: keys.queue_depth,
      missEntries: keys.miss_entries,
      /** Miss entries that each requester can always have. */
      minMissEntries: keys.min_miss_entries,
      writebackSlots: keys.writeback_slots,
      partialWriteMiss: keys.partial_write_miss,
      /** Do accesses of coherent ports allocate in L2? */
      portReadAllocate: keys.allocate.reads,
      portWriteAllocate: keys.allocate.writes,
      /** statistical: share of misses whose victim is dirty. */
      dirtyShare: keys.dirty_share,
      arbitration: keys.arbitration,
    };
  });
