import * as z from 'zod';
import { meta, plainNumber, size } from './fields.js';

const pattern = <const T extends string>(name: T, about: string) =>
  z.literal(name).meta({ ...meta(about, name, '', name) });

const line = size('Bytes of a line.', { example: '64 B' }).prefault('64 B');

const sequential = z.strictObject({
  pattern: pattern('sequential', 'One after the other, from the start again at the end.'),
});

const strided = z
  .strictObject({
    pattern: pattern('strided', 'Each a stride after the one before.'),
    stride: size('Distance of starts.', { example: '4 KiB' }),
  })
  .transform((keys) => ({ pattern: keys.pattern, strideBytes: keys.stride }));

const random = z
  .strictObject({
    pattern: pattern('random', 'Anywhere, each place as likely.'),
    align: size('Starts are multiples of this.', { example: '64 B' }).prefault('64 B'),
  })
  .transform((keys) => ({ pattern: keys.pattern, alignBytes: keys.align }));

const zipf = z
  .strictObject({
    pattern: pattern('zipf', 'Lines by popularity: the k-th is asked for in proportion to 1/k^exponent.'),
    exponent: plainNumber('How uneven the popularity is.', '0.9').prefault(1),
    line,
  })
  .transform((keys) => ({ pattern: keys.pattern, exponent: keys.exponent, lineBytes: keys.line }));

const chain = z
  .strictObject({ pattern: pattern('chain', 'Every line once, in a random order that repeats.'), line })
  .transform((keys) => ({ pattern: keys.pattern, lineBytes: keys.line }));

const short = z.enum(['sequential', 'random', 'zipf', 'chain']).transform((name) => {
  if (name === 'sequential') return { pattern: name };
  if (name === 'random') return { pattern: name, alignBytes: 64 };
  return name === 'zipf' ? { pattern: name, exponent: 1, lineBytes: 64 } : { pattern: name, lineBytes: 64 };
});

/** Which addresses of its buffer a master asks for. */
export const patternSchema = z
  .union([short, z.discriminatedUnion('pattern', [sequential, strided, random, zipf, chain])])
  .meta({
    ...meta(
      'Where in the buffer requests go.',
      'mapping with pattern, or its name',
      '',
      '{pattern: strided, stride: 4 KiB}',
    ),
  });
