import * as z from 'zod';
import { l1Schema } from './cache.js';
import { distribution } from './distribution.js';
import {
  choice,
  count,
  cycles,
  limit,
  meta,
  nameOf,
  quantity,
  report,
  share,
  someTime,
  time,
  width,
  yesNo,
} from './fields.js';
import { issueSchema } from './issue.js';
import { outstanding, sync } from './links.js';
import { patternSchema } from './pattern.js';

const operations = z
  .union([
    z.enum(['read', 'write']).transform((word) => (word === 'read' ? 1 : 0)),
    z
      .strictObject({ read_share: share('Share of requests that read.', { example: '70 %' }) })
      .transform((keys) => keys.read_share),
  ])
  .meta({ ...meta('What requests do.', 'read | write | {read_share}', '', '{read_share: 70 %}') });

const l1 = l1Schema.meta({ ...meta('The private cache.', 'mapping', '', '{size: 32 KiB, ways: 4}') });
const hit = cycles('Cycles of an access that hits.', { min: 1, example: '2 cycles' });
const parallelism = count('Misses in flight at once.', { example: '4' });

const maintenance = cycles('Cycles of the core for each line that it cleans or invalidates (assumed).', {
  example: '8 cycles',
});
const barrier = cycles('Cycles of a barrier that has nothing left to wait for (assumed).', { example: '20 cycles' });
const MAINTENANCE = '8 cycles';
const BARRIER = '20 cycles';

const coreMapping = z
  .strictObject({
    l1,
    hit,
    parallelism,
    maintenance: maintenance.prefault(MAINTENANCE),
    barrier: barrier.prefault(BARRIER),
  })
  .transform((keys) => ({
    l1: keys.l1,
    hitCycles: keys.hit,
    /** Misses in flight at once. */
    parallelism: keys.parallelism,
    /** Of each line that it maintains, and of the barrier after them. */
    maintenanceCycles: keys.maintenance,
    barrierCycles: keys.barrier,
  }));

const core = z
  .union([yesNo('').transform(() => null), coreMapping])
  .meta({
    ...meta(
      'Makes the master a processor core with a private cache; yes takes platform.cores.',
      'yes, or mapping',
      '',
      'yes',
      'no',
    ),
  })
  .optional();

const unitBursts = () => limit('Bursts in flight.', { example: '8' });

const attach = nameOf(
  'a port, coherence unit or device',
  'What it is wired to: a port; a coherence unit (cores only); a device (for queueing studies).',
  'fabric0',
);
const clockKey = z
  .string({ error: `must be the name of a clock or 'none'` })
  .meta({
    ...meta(
      'Its clock; none for a source without one.',
      `name of a clock or 'none'`,
      '',
      'fabric',
      'that of what it is attached to',
    ),
  })
  .optional();
const widthKey = width('Its data width.', 'that of what it is attached to').optional();

/** What platform.cores says for every core. */
export const coresSchema = z.strictObject({
  attach: attach.optional(),
  clock: clockKey,
  width: widthKey,
  l1: l1.optional(),
  hit: hit.optional(),
  parallelism: parallelism.optional(),
  maintenance: maintenance.meta({ otherwise: MAINTENANCE }).optional(),
  barrier: barrier.meta({ otherwise: BARRIER }).optional(),
});

/** A master: what it wants, when, where, and how much of it at once. Defaults that others decide are left open. */
export const masterSchema = z
  .strictObject({
    preset: nameOf(
      'a peripheral preset',
      'A peripheral whose fields are taken where none are written here.',
      'gigabit_ethernet',
      'none',
    ).optional(),
    group: nameOf(
      'a group',
      'The accelerator that it is a part of; a placement can move the group.',
      'classifier',
      'none',
    ).optional(),
    attach,
    clock: clockKey,
    width: widthKey,
    sync,
    burst: quantity('beats', 'Most beats of a burst (AXI4 INCR); longer requests are cut.', {
      min: 1,
      max: 256,
    }).prefault('16 beats'),
    outstanding: outstanding('Bursts in flight.', unitBursts).prefault(8),
    ids: count('AXI IDs; burst n uses ID n mod ids.', { example: '4' }).prefault(1),
    same_id_order: choice(['port', 'memory'], 'Who keeps bursts of one ID in order.').prefault('port'),
    qos: count('Urgency, 15 the most (AXI4).', { min: 0, max: 15, example: '8' }).prefault(0),
    operations,
    buffer: nameOf('a buffer', 'Where its requests go.', 'lines'),
    addresses: patternSchema.prefault('sequential'),
    size: distribution('size', 'Bytes of a request.', {
      min: 1,
      example: '256 B',
      otherwise: 'one full burst; for cores 8 B',
    }).optional(),
    issue: issueSchema,
    start: time('When it starts to want, from the start of the run.', { example: '100 us' }).prefault('0 ns'),
    stop: someTime('When it stops wanting.', { example: '1 ms', otherwise: 'never' }).optional(),
    hit_ratio: share('Hit ratio of its lookups under the statistical cache model.', {
      example: '80 %',
      otherwise: 'none; required where it looks up in a statistical unit',
    }).optional(),
    core,
    when_full: choice(
      ['wait', 'drop'],
      'A request that finds no outstanding slot waits, or is lost (counted).',
    ).prefault('wait'),
  })
  .transform((keys, ctx) => {
    const stopPs = keys.stop ?? Infinity;
    if (stopPs <= keys.start) {
      report(ctx, { code: 'out_of_range', message: `must be after 'start'`, hint: 'raise it or lower start' }, keys, [
        'stop',
      ]);
    }
    return {
      /** The accelerator it is a part of, or null. */
      group: keys.group ?? null,
      /** Name of the element it is wired to. */
      attach: keys.attach,
      /** null: unclocked; undefined: that of what it is attached to. */
      clock: keys.clock === 'none' ? null : keys.clock,
      width: keys.width ?? null,
      syncCycles: keys.sync,
      burstBeats: keys.burst,
      maxReads: keys.outstanding.reads,
      maxWrites: keys.outstanding.writes,
      ids: keys.ids,
      sameIdOrder: keys.same_id_order,
      qos: keys.qos,
      /** 1 = reads only, 0 = writes only. */
      readShare: keys.operations,
      buffer: keys.buffer,
      pattern: keys.addresses,
      size: keys.size ?? null,
      issue: keys.issue,
      /** When the source starts and stops wanting, from the start of the run; Infinity: never stops. */
      startPs: keys.start,
      stopPs,
      hitRatio: keys.hit_ratio ?? null,
      core: keys.core ?? null,
      /** A drop-when-full source: a request that finds no outstanding slot is lost (counted). */
      whenFull: keys.when_full,
    };
  });

export type CoreKeys = z.output<typeof coreMapping>;
