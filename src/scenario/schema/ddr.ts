import * as z from 'zod';
import { arbitration } from './arbitration.js';
import { choice, clocks, count, cycles, meta, quantity, report, size, someTime, time, width, yesNo } from './fields.js';
import { clock, queue, sync } from './links.js';
import { timingSchema } from './dram-timing.js';

/** Parts that an address is cut into. */
export const ADDRESS_FIELDS = ['row', 'rank', 'bankgroup', 'bank', 'column', 'channel'] as const;
export type AddressField = (typeof ADDRESS_FIELDS)[number];

const bits = count('Bits of the field here.', { example: '3' }).optional();

const explicitField = z
  .strictObject({ row: bits, rank: bits, bankgroup: bits, bank: bits, column: bits, channel: bits })
  .transform((keys, ctx) => {
    const given = ADDRESS_FIELDS.filter((field) => keys[field] !== undefined);
    if (given.length !== 1) {
      report(ctx, { code: 'conflict', message: 'must be one field', hint: `write e.g. '{row: 15}'` }, keys);
    }
    const field = given[0] ?? 'row';
    return { field, bits: keys[field] ?? null };
  });

const fieldName = z.enum(ADDRESS_FIELDS).transform((field) => ({ field, bits: null as number | null }));

const mapping = z
  .array(z.union([fieldName, explicitField]), { error: 'must be a list of fields' })
  .meta({
    ...meta(
      'Fields of the address above one DRAM burst, most significant first. A name takes all bits of its field, {name: bits} so many.',
      `list of ${ADDRESS_FIELDS.join(', ')}`,
      '',
      '[row, bank, column]',
      'row, rank, bank, bankgroup, column',
    ),
  })
  .optional();

const page = z
  .union([
    z.enum(['open', 'closed']).transform((policy) => ({ policy, idlePs: 0 })),
    z
      .strictObject({ timeout: someTime('Time after the last column command of a bank.', { example: '100 ns' }) })
      .transform(({ timeout }) => ({ policy: 'timeout' as const, idlePs: timeout })),
  ])
  .meta({
    ...meta(
      'When rows are closed: on a conflict, with their last queued access, or after a time.',
      'open | closed | {timeout}',
      '',
      'closed',
    ),
  })
  .prefault('open');

const modes = choice(['all_bank', 'per_bank', 'off'], 'What a refresh takes: the rank, or one bank (LPDDR).');

const refresh = z
  .union([
    modes.transform((mode) => ({ mode, postpone: 0 })),
    z.strictObject({
      mode: modes.prefault('all_bank'),
      postpone: count('Refreshes that may be put off while there is work.', { min: 0, max: 8, example: '4' }).prefault(
        0,
      ),
    }),
  ])
  .meta({
    ...meta('Refresh of the DRAM.', 'all_bank | per_bank | off, or mapping', '', '{mode: all_bank, postpone: 4}'),
  })
  .prefault('all_bank');

const phy = z
  .strictObject({
    command: clocks('DRAM clocks of the PHY on the command path.', { example: '4 clocks' }).prefault('4 clocks'),
    data: clocks('DRAM clocks of the PHY on the data path.', { example: '4 clocks' }).prefault('4 clocks'),
  })
  .meta({ ...meta('Latency of the PHY.', 'mapping', '', '{command: 4 clocks, data: 4 clocks}') })
  .prefault({});

/** A DRAM controller with its channels. */
export const ddrSchema = z
  .strictObject({
    kind: z.literal('ddr').meta({ ...meta('A DRAM controller with its channels.', 'ddr', '', 'ddr') }),
    clock,
    width: width('Data width of each input of the controller.'),
    sync,
    grade: z
      .string({ error: 'must be the name of a speed grade' })
      .meta({
        ...meta(
          'Speed grade. Without one, timing must have every parameter.',
          'name of a speed grade',
          '',
          'DDR3-1600K',
          'none',
        ),
      })
      .optional(),
    device: width('Width of one DRAM device.', 'the widest of the grade, up to the bus').optional(),
    density: quantity('density', 'Density of one DRAM device.', {
      example: '4 Gbit',
      otherwise: 'the only one of the grade, else 4 Gbit',
    }).optional(),
    bus: width('Data width of each channel.'),
    timing: timingSchema
      .meta({ ...meta('Parameters one by one, over those of the grade.', 'mapping', '', '{CL: 11, tRCD: 13.75 ns}') })
      .prefault({}),
    size: size('Bytes of the memory.', { example: '512 MiB', otherwise: 'of ddr what the devices hold' }).optional(),
    channels: count('Independent channels.', { example: '2' }).prefault(1),
    ranks: count('Ranks of each channel.', { example: '1' }).prefault(1),
    interleave: size('Bytes after which the next channel is used.', { example: '256 B' }).prefault('256 B'),
    mapping,
    bank_hash: yesNo('Is the bank number mixed with the low row bits?').prefault('no'),
    front: cycles('Controller cycles before the queues.', { example: '10 cycles' }).prefault('10 cycles'),
    return: cycles('Controller cycles after the data.', { example: '6 cycles' }).prefault('6 cycles'),
    phy,
    queue_depth: queue('Bursts that each input can hold, for reads and for writes.', 8),
    read_entries: count('Column accesses in the read queue.', { example: '32' }).prefault(32),
    write_entries: count('Column accesses in the write queue.', { example: '32' }).prefault(32),
    high_mark: count('Queued writes that start a drain.', {
      example: '24',
      otherwise: 'three quarters of write_entries',
    }).optional(),
    low_mark: count('Queued writes that end it.', {
      min: 0,
      example: '8',
      otherwise: 'a quarter of write_entries',
    }).optional(),
    min_drain: count('Least writes of a drain that began idle.', { example: '4' }).prefault(4),
    grain: size('Bytes after which the inputs are arbitrated again.', { example: '64 B' }).prefault('64 B'),
    scheduler: choice(['out_of_order', 'in_order'], 'May column commands overtake one another?').prefault(
      'out_of_order',
    ),
    activate_first: yesNo('Do activates go before column commands?').prefault('no'),
    lookahead: count('in_order: accesses over which activates may run ahead.', { example: '8' }).prefault(8),
    cap: time('Time in the queue after which an access goes before all others.', { example: '500 ns' }).prefault(
      '500 ns',
    ),
    page,
    refresh,
    arbitration: arbitration(),
  })
  .transform((keys, ctx) => {
    const highMark = keys.high_mark ?? Math.max(1, Math.floor((keys.write_entries * 3) / 4));
    const lowMark = keys.low_mark ?? Math.floor(keys.write_entries / 4);
    const fault = (key: string, message: string): void =>
      report(ctx, { code: 'out_of_range', message, hint: 'change one of the two' }, keys, [key]);
    if (highMark > keys.write_entries) fault('high_mark', `must be at most write_entries (${keys.write_entries})`);
    else if (lowMark >= highMark) fault('low_mark', `must be below high_mark (${highMark})`);
    return {
      kind: 'ddr' as const,
      clock: keys.clock,
      widthBytes: keys.width,
      syncCycles: keys.sync,
      grade: keys.grade ?? null,
      deviceBytes: keys.device ?? null,
      densityGbit: keys.density ?? null,
      busBytes: keys.bus,
      overrides: keys.timing,
      size: keys.size ?? null,
      channels: keys.channels,
      ranks: keys.ranks,
      /** Bytes after which the next channel is used; the lowest address bits above it pick the channel. */
      interleaveBytes: keys.interleave,
      order: keys.mapping ?? null,
      bankHash: keys.bank_hash,
      frontCycles: keys.front,
      returnCycles: keys.return,
      /** PHY latency in DRAM clocks, on the command and on the data path. */
      phyCommandClocks: keys.phy.command,
      phyDataClocks: keys.phy.data,
      /** Bursts that each input port of the controller can hold, for reads and for writes. */
      queueDepth: keys.queue_depth,
      readEntries: keys.read_entries,
      writeEntries: keys.write_entries,
      highMark,
      lowMark,
      minDrain: keys.min_drain,
      grainBytes: keys.grain,
      scheduler: keys.scheduler,
      activateFirst: keys.activate_first,
      lookahead: keys.lookahead,
      capPs: keys.cap,
      page: keys.page,
      refresh: keys.refresh,
      arbitration: keys.arbitration,
    };
  });
