import * as z from 'zod';
import { distribution } from './distribution.js';
import { choice, meta, rate, report, size, someTime, time } from './fields.js';

/** How often an open source issues. */
export type Pace = { kind: 'rate'; bytesPerS: number } | { kind: 'every'; everyPs: number };

const process = <const T extends string>(name: T, about: string) =>
  z.literal(name).meta({ ...meta(about, name, '', name) });

const pace = {
  rate: rate('Bytes per second on average.', { example: '400 MB/s', otherwise: 'every' }).optional(),
  every: someTime('Time between requests on average; in place of rate.', {
    example: '2 us',
    otherwise: 'rate',
  }).optional(),
};

const jitter = time('Each request comes up to this much later, at random.', { example: '100 ns' }).prefault('0 ns');
const offset = time('Instant of the first request.', {
  example: '5 us',
  otherwise: 'drawn for each replication',
}).optional();

function paceOf(keys: { rate?: number | undefined; every?: number | undefined }, ctx: z.core.$RefinementCtx): Pace {
  if (keys.every !== undefined && keys.rate === undefined) return { kind: 'every', everyPs: keys.every };
  if (keys.rate === undefined || keys.every !== undefined) {
    const code = keys.every === undefined ? 'missing_key' : 'conflict';
    const hint = `write e.g. 'rate: 400 MB/s' or 'every: 2 us'`;
    report(ctx, { code, message: `must have either 'rate' or 'every'`, hint }, keys);
  }
  return { kind: 'rate', bytesPerS: keys.rate ?? 1 };
}

const steady = z
  .strictObject({ process: process('steady', 'At even distances.'), ...pace, jitter, offset })
  .transform((keys, ctx) => ({
    process: keys.process,
    pace: paceOf(keys, ctx),
    jitterPs: keys.jitter,
    offsetPs: keys.offset ?? null,
  }));

const poisson = z
  .strictObject({
    process: process('poisson', 'At random, without memory.'),
    ...pace,
    batch: distribution('count', 'Requests that come at once.', { example: '4' }).prefault(1),
  })
  .transform((keys, ctx) => ({ process: keys.process, pace: paceOf(keys, ctx), batch: keys.batch }));

const periodic = z
  .strictObject({
    process: process('periodic', 'A block every so often, as requests one after another.'),
    block: size('Bytes of each block.', { example: '4 KiB' }),
    every: someTime('Period of the blocks.', { example: '20 us' }),
    jitter,
    offset,
  })
  .transform((keys) => ({
    process: keys.process,
    blockBytes: keys.block,
    everyPs: keys.every,
    jitterPs: keys.jitter,
    offsetPs: keys.offset ?? null,
  }));

const onOff = z
  .strictObject({
    process: process('on_off', 'On and off in turn, each for a random time.'),
    ...pace,
    within: choice(['steady', 'poisson'], 'How requests come while it is on; the pace is that of this time.').prefault(
      'steady',
    ),
    on: distribution('time', 'Time that it is on.', { min: 1, example: '50 us' }),
    off: distribution('time', 'Time that it is off.', { example: '200 us' }),
  })
  .transform((keys, ctx) => ({
    process: keys.process,
    pace: paceOf(keys, ctx),
    within: keys.within,
    on: keys.on,
    off: keys.off,
  }));

const greedy = z.strictObject({ process: process('greedy', 'Whenever an outstanding slot is free.') });

const dependent = z.strictObject({
  process: process('dependent', 'The next one only after the last came back.'),
  think: distribution('time', 'Time between the return of one and the next.', { example: '50 ns' }).prefault('0 ns'),
});

const trace = z
  .strictObject({
    process: process('trace', 'Replay of a CSV file with the header time_ns,operation,address,bytes.'),
    file: z
      .string({ error: 'must be the name of a file' })
      .meta({ ...meta('The file, from the folder of the scenario.', 'file name', '', 'camera-trace.csv') }),
  })
  .transform(({ process: name, file }) => ({ process: name, file, entries: [] as TraceEntry[] }));

/** One line of a trace. */
export interface TraceEntry {
  timePs: number;
  write: boolean;
  /** Offset within the master's buffer. */
  address: number;
  bytes: number;
}

const silent = z.strictObject({ process: process('silent', 'Nothing of its own: only what tasks ask of it.') });

const short = z.enum(['greedy', 'dependent', 'silent']).transform((name) => {
  if (name !== 'dependent') return { process: name };
  return { process: name, think: { kind: 'fixed' as const, value: 0 } };
});

/** When a master wants its requests. Trace entries are filled in when the file is read. */
export const issueSchema = z
  .union([short, z.discriminatedUnion('process', [steady, poisson, periodic, onOff, greedy, dependent, trace, silent])])
  .meta({
    ...meta(
      'When requests are wanted.',
      'mapping with process, or greedy | dependent | silent',
      '',
      '{process: poisson, rate: 400 MB/s}',
    ),
  });
