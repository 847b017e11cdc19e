/** Kinds of keys. Each takes what the key means, and gives a schema that carries type, unit and example with it. */
import * as z from 'zod';
import { DIMENSIONS, readPeriod, readQuantity, type Dimension, type Fault, type Reading } from '../quantity.js';

/** What the reference says of a key besides its name; kept on the schema itself (`.meta`). */
export interface KeyMeta {
  description: string;
  /** Type in words: "time", "name of a clock". */
  kind: string;
  /** Units that may be written, most usual first; empty for none. */
  unit: string;
  example: string;
  /** Default in words, where it is worked out rather than fixed. */
  otherwise?: string;
}

export interface QuantityOptions {
  example?: string;
  min?: number;
  max?: number;
  /** Default in words, where it is worked out. */
  otherwise?: string;
}

/** What a schema reports through `ctx.issues` besides the message. */
export interface FaultParams {
  code: Fault['code'];
  hint: string;
}

type Context = z.core.$RefinementCtx;

/** Adds a fault to the issues of a schema, at a key below it where `path` is given. */
export function report(ctx: Context, fault: Fault, input: unknown, path: string[] = []): void {
  ctx.issues.push({
    code: 'custom',
    message: fault.message,
    input,
    path,
    params: { code: fault.code, hint: fault.hint } satisfies FaultParams,
  });
}

/** Value of a reading, or its fault as an issue. */
function settle<T>(reading: Reading<T>, ctx: Context, input: unknown): T {
  if ('value' in reading) return reading.value;
  report(ctx, reading.fault, input);
  return z.NEVER;
}

const written = (noun: string): z.ZodUnion<readonly [z.ZodString, z.ZodNumber]> =>
  z.union([z.string(), z.number()], { error: `must be ${noun}` });

export function meta(description: string, kind: string, unit: string, example: string, otherwise?: string): KeyMeta {
  return otherwise === undefined
    ? { description, kind, unit, example }
    : { description, kind, unit, example, otherwise };
}

/** A quantity of a dimension, in its canonical unit; `min` and `max` are in that unit too. */
export function quantity(dimension: Dimension, description: string, options: QuantityOptions = {}) {
  const { noun, example: usual } = DIMENSIONS[dimension];
  const { example = usual, min = 0, max = Infinity, otherwise } = options;
  return written(noun)
    .transform((input, ctx) => {
      const value = settle(readQuantity(dimension, input), ctx, input);
      const fault = rangeFault(dimension, value, min, max, example);
      if (fault !== null) report(ctx, fault, input);
      return value;
    })
    .meta({ ...meta(description, noun.replace(/^an? /, ''), unitsOf(dimension), example, otherwise) });
}

function unitsOf(dimension: Dimension): string {
  const names = [...DIMENSIONS[dimension].units.keys()].filter((unit) => !/^[µμ]/.test(unit));
  return names.join(', ');
}

function rangeFault(dimension: Dimension, value: number, min: number, max: number, example: string): Fault | null {
  if (!(value < min) && !(value > max)) return null;
  const hint = `write e.g. '${example}'`;
  const code = 'out_of_range';
  const { canonical } = DIMENSIONS[dimension];
  if (max < Infinity) return { code, message: `must be ${min} to ${max} ${canonical}`.replace(/ 0 to 1$/, ''), hint };
  if (value < 0) return { code, message: min > 0 ? 'must be above zero' : 'must not be negative', hint };
  if (value === 0) return { code, message: 'must be above zero', hint };
  return { code, message: `must be ${min} ${canonical} or more`, hint };
}

export const time = (about: string, options?: QuantityOptions) => quantity('time', about, options);
/** A time that is not zero. */
export const someTime = (about: string, options?: QuantityOptions) => quantity('time', about, { min: 1, ...options });
/** The same, or a word for none. */
export function someTimeOr<const W extends string>(
  word: W,
  about: string,
  { example = '10 us', otherwise }: QuantityOptions,
) {
  return written(`a time or '${word}'`)
    .transform((input, ctx) => {
      if (input === word) return word;
      const value = settle(readQuantity('time', input), ctx, input);
      const fault = rangeFault('time', value, 1, Infinity, example);
      if (fault !== null) report(ctx, fault, input);
      return value;
    })
    .meta({ ...meta(about, `time or '${word}'`, unitsOf('time'), example, otherwise) });
}
export const size = (about: string, options?: QuantityOptions) => quantity('size', about, { min: 1, ...options });
export const rate = (about: string, options?: QuantityOptions) =>
  quantity('rate', about, { min: Number.MIN_VALUE, example: '400 MB/s', ...options });
export const cycles = (about: string, options?: QuantityOptions) => quantity('cycles', about, options);
export const clocks = (about: string, options?: QuantityOptions) => quantity('clocks', about, options);
export const share = (about: string, options?: QuantityOptions) =>
  quantity('share', about, { max: 1, example: '30 %', ...options });

/** Width of a data path, in bytes: 8 to 1024 bit, a power of two as the bus standards have it. */
export const width = (about: string, otherwise?: string) =>
  quantity('width', about, otherwise === undefined ? {} : { otherwise })
    .transform((bytes, ctx) => {
      const fits = bytes >= 1 && bytes <= 128 && Number.isInteger(Math.log2(bytes));
      if (!fits) report(ctx, WIDTH_FAULT, bytes);
      return bytes;
    })
    .meta({ ...meta(about, 'width', 'bit', '64 bit', otherwise) });

const WIDTH_FAULT: Fault = {
  code: 'out_of_range',
  message: 'must be 8, 16, 32, 64, 128, 256, 512 or 1024 bit',
  hint: `write e.g. '64 bit'`,
};

export interface CountOptions {
  min?: number;
  max?: number;
  example?: string;
  otherwise?: string;
}

/** A bare whole number. */
export function count(description: string, options: CountOptions = {}) {
  const { example = '8', otherwise } = options;
  return written('a whole number')
    .transform((input, ctx) => settle(readCount(input, options), ctx, input))
    .meta({ ...meta(description, 'whole number', '', example, otherwise) });
}

/** A bare whole number, or `unlimited` (Infinity). */
export function limit(description: string, options: CountOptions = {}) {
  const { example = '8', otherwise } = options;
  return written(`a whole number or 'unlimited'`)
    .transform((input, ctx) => (input === 'unlimited' ? Infinity : settle(readCount(input, options), ctx, input)))
    .meta({ ...meta(description, `whole number or 'unlimited'`, '', example, otherwise) });
}

function readCount(input: string | number, { min = 1, max = Infinity, example = '8' }: CountOptions): Reading<number> {
  const text = String(input).trim();
  const range = max === Infinity ? `${min} or more` : `${min} to ${max}`;
  const hint = `write e.g. '${example}'`;
  if (!/^[+-]?\d+(\.\d+)?$/.test(text)) {
    return { fault: { code: 'wrong_type', message: 'must be a whole number without a unit', hint } };
  }
  const value = Number(text);
  if (Number.isSafeInteger(value) && value >= min && value <= max) return { value };
  return { fault: { code: 'out_of_range', message: `must be a whole number, ${range}`, hint } };
}

/** A plain number without unit, above zero unless stated. */
export function plainNumber(description: string, example: string, min = 0) {
  return written('a number')
    .transform((input, ctx) => {
      const value = Number(input);
      const fault = {
        code: 'out_of_range',
        message: 'must be a number above zero',
        hint: `write e.g. '${example}'`,
      } as const;
      if (!(value > min) || value === Infinity || input === '') report(ctx, fault, input);
      return value;
    })
    .meta({ ...meta(description, 'number', '', example) });
}

/** `yes` or `no`; `true` and `false` mean the same. */
export function yesNo(description: string) {
  return z
    .enum(['yes', 'no'])
    .or(z.boolean())
    .transform((input) => input === 'yes' || input === true)
    .meta({ ...meta(description, 'yes or no', '', 'yes') });
}

/** One of a few words. */
export function choice<const T extends readonly string[]>(words: T, description: string, otherwise?: string) {
  return z.enum(words).meta({ ...meta(description, words.join(' | '), '', words[0]!, otherwise) });
}

/** A name of something that the scenario defines; `of` says of what. Whether it exists is checked later. */
export function nameOf(of: string, description: string, example: string, otherwise?: string) {
  return z
    .string({ error: `must be the name of ${of}` })
    .meta({ ...meta(description, `name of ${of}`, '', example, otherwise) });
}

/** A clock: a frequency, or a mapping with `frequency` or `period`. The period is kept as an exact fraction of 1 ps. */
export const frequency = (about: string) =>
  written('a frequency')
    .transform((input, ctx) => settle(readPeriod(input), ctx, input))
    .meta({ ...meta(about, 'frequency', 'Hz, kHz, MHz, GHz', '533 MHz') });

/** An address: a size, or hexadecimal bytes such as `0x100000`. */
export const address = (about: string, otherwise: string) =>
  written('an address')
    .transform((input, ctx) => {
      if (/^0x[0-9a-f]{1,13}$/i.test(String(input))) return Number(input);
      const value = settle(readQuantity('size', input), ctx, input);
      const fault = rangeFault('size', value, 0, Infinity, '16 MiB');
      if (fault !== null) report(ctx, fault, input);
      return value;
    })
    .meta({ ...meta(about, 'address', 'B, KiB, MiB, GiB, or 0x… in bytes', '16 MiB', otherwise) });
