import * as z from 'zod';
import { distribution } from './distribution.js';
import { choice, limit, meta, nameOf, quantity, size, someTime, time, yesNo } from './fields.js';

const trigger = <const Name extends string>(name: Name, about: string) =>
  z.literal(name).meta({ ...meta(about, name, '', name) });

const periodic = z
  .strictObject({
    process: trigger('periodic', 'Every so often.'),
    every: someTime('From one instance to the next; of poisson the mean.', { example: '40 us' }),
    offset: time('Instant of the first.', { example: '5 us', otherwise: 'at random within the period' }).optional(),
    jitter: time('Most that an instance may come late, at random.', { example: '1 us' }).prefault('0 ns'),
  })
  .transform((keys) => ({
    process: keys.process,
    everyPs: keys.every,
    /** null: drawn. */
    offsetPs: keys.offset ?? null,
    jitterPs: keys.jitter,
  }));

const poisson = z
  .strictObject({
    process: trigger('poisson', 'At random, without memory.'),
    every: someTime('From one instance to the next; of poisson the mean.', { example: '40 us' }),
  })
  .transform((keys) => ({ process: keys.process, everyPs: keys.every }));

const after = z.strictObject({
  process: trigger('after', 'Whenever an instance of another task ends.'),
  task: nameOf('a task', 'Which task.', 'capture'),
});

const step = <const Name extends string>(name: Name, about: string) =>
  z.literal(name).meta({ ...meta(about, name, '', name) });

const buffer = () => nameOf('a buffer', 'Where; it must lie on the way of the master to its own buffer.', 'lines');
const offset = quantity('size', 'First byte within the buffer.', { example: '4 KiB' }).prefault('0 B');
const rotate = yesNo(
  'Does each instance take the next so many bytes of the buffer, and begin again at its end?',
).prefault('no');
const bytes = size('How many bytes.', {
  example: '8 KiB',
  otherwise: 'up to the end of the buffer; fetch 64 B, doorbell and poll 4 B',
});
const some = { offset, bytes: bytes.optional(), rotate };
const master = nameOf('a master or group', 'Who does it; of a group, the one that reads or writes.', 'classifier');
const core = nameOf('a core', 'Which core.', 'driver');

const accessKeys = {
  master,
  buffer: buffer()
    .meta({ ...meta('Where; on the way to its own buffer.', 'name of a buffer', '', 'lines', 'its own') })
    .optional(),
  ...some,
  access: size('Bytes of each access.', { example: '64 B', otherwise: 'of a core 8 B; else all at once' }).optional(),
};

interface AccessKeys {
  master: string;
  buffer?: string | undefined;
  offset: number;
  bytes?: number | undefined;
  rotate: boolean;
  access?: number | undefined;
}

const accessOf = <const Name extends 'read' | 'write' | 'fetch'>(
  name: Name,
  keys: AccessKeys,
  usual: number | null,
) => ({
  do: name,
  master: keys.master,
  /** null: the master's own. */
  buffer: keys.buffer ?? null,
  offset: keys.offset,
  /** null: up to the end. */
  bytes: keys.bytes ?? usual,
  rotate: keys.rotate,
  access: keys.access ?? null,
});

const FETCH_BYTES = 64;
const WORD_BYTES = 4;

const read = z
  .strictObject({ do: step('read', 'A master reads.'), ...accessKeys })
  .transform((keys) => accessOf('read', keys, null));
const write = z
  .strictObject({ do: step('write', 'A master writes.'), ...accessKeys })
  .transform((keys) => accessOf('write', keys, null));
const fetch = z
  .strictObject({ do: step('fetch', 'A master reads a descriptor.'), ...accessKeys })
  .transform((keys) => accessOf('fetch', keys, FETCH_BYTES));

const doorbell = z
  .strictObject({
    do: step('doorbell', 'A core writes a word past the caches, and goes on with the answer.'),
    core,
    buffer: accessKeys.buffer,
    ...some,
  })
  .transform((keys) => ({ ...accessOf('write', { ...keys, master: keys.core }, WORD_BYTES), do: keys.do }));

const poll = z
  .strictObject({
    do: step(
      'poll',
      'A core reads a flag until it is set: from its last step on, until a read that begins after the step before this one.',
    ),
    core,
    buffer: accessKeys.buffer,
    ...some,
    every: someTime('From one read of the flag to the next.', { example: '200 ns' }),
  })
  .transform((keys) => ({
    ...accessOf('read', { ...keys, master: keys.core }, WORD_BYTES),
    do: keys.do,
    everyPs: keys.every,
  }));

const compute = z.strictObject({
  do: step('compute', 'Time passes; nobody is asked for anything.'),
  time: distribution('time', 'How long.', { example: '3 us' }),
});

const interrupt = z.strictObject({
  do: step('interrupt', 'A core is told.'),
  core,
  latency: distribution('time', 'From the interrupt to the first instruction.', { example: '2 us' }),
});

const side = (about: string) => nameOf('a master or group', about, 'driver');

const passKeys = {
  from: side('Who had it.'),
  to: side('Who has it next.'),
  buffer: buffer(),
  ...some,
  use: choice(
    ['read', 'write', 'both'],
    'What the side that is no core does with it.',
    'what the steps of this task say; else read',
  ).optional(),
};

interface PassKeys {
  from: string;
  to: string;
  buffer: string;
  offset: number;
  bytes?: number | undefined;
  rotate: boolean;
  use?: 'read' | 'write' | 'both' | undefined;
}

const passOf = <const Name extends 'hand_over' | 'take_back'>(name: Name, keys: PassKeys) => ({
  do: name,
  from: keys.from,
  to: keys.to,
  buffer: keys.buffer,
  offset: keys.offset,
  bytes: keys.bytes ?? null,
  rotate: keys.rotate,
  /** null: after the steps of the task. */
  use: keys.use ?? null,
});

const handOver = z
  .strictObject({
    do: step(
      'hand_over',
      'A core gives a buffer to another: cleaned, invalidated or neither, as the placement has it.',
    ),
    ...passKeys,
  })
  .transform((keys) => passOf('hand_over', keys));
const takeBack = z
  .strictObject({ do: step('take_back', 'A core takes a buffer back, after what the other did with it.'), ...passKeys })
  .transform((keys) => passOf('take_back', keys));

/** One step of a task. */
export const stepSchema = z
  .discriminatedUnion('do', [read, write, fetch, doorbell, compute, interrupt, poll, handOver, takeBack])
  .meta({ ...meta('A step.', 'mapping with do', '', '{do: read, master: classifier, bytes: 8 KiB}') });

/** Work that crosses masters: steps one after the other, each begun when the one before is done. */
export const taskSchema = z
  .strictObject({
    trigger: z.discriminatedUnion('process', [periodic, poisson, after]).meta({
      ...meta('When an instance comes into being.', 'mapping with process', '', '{process: periodic, every: 40 us}'),
    }),
    steps: z
      .array(stepSchema, { error: 'must be a list of steps' })
      .min(1, { error: 'must have a step' })
      .meta({
        ...meta('What an instance does, one after the other.', 'list', '', '[{do: compute, time: 3 us}]'),
      }),
    deadline: someTime('Longest time from the trigger to the end of the last step.', {
      example: '60 us',
      otherwise: 'none',
    }).optional(),
    stop: someTime('When it ceases to be triggered, from the start of the run.', {
      example: '1 ms',
      otherwise: 'never',
    }).optional(),
    overlap: limit('Instances under way at once.', { example: '2' }).prefault(1),
    when_full: choice(
      ['queue', 'drop'],
      'An instance that finds as many under way as may be waits for its turn, or is dropped (counted).',
    ).prefault('queue'),
  })
  .transform((keys) => ({
    trigger: keys.trigger,
    steps: keys.steps,
    /** null: none. */
    deadlinePs: keys.deadline ?? null,
    /** Infinity: never. */
    stopPs: keys.stop ?? Infinity,
    /** May be Infinity. */
    overlap: keys.overlap,
    whenFull: keys.when_full,
  }));
