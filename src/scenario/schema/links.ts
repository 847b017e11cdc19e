/** Keys that several kinds of element share. */
import * as z from 'zod';
import { choice, count, cycles, meta, nameOf, yesNo } from './fields.js';

/** Names of the elements that the outputs lead to, in output order; one name or a list. */
export const to = z
  .union([z.string(), z.array(z.string()).min(1)], { error: 'must be the name of an element, or a list of names' })
  .transform((names) => (typeof names === 'string' ? [names] : names))
  .meta({
    ...meta(
      'Elements that the outputs lead to, in order of output.',
      'name of an element, or list of names',
      '',
      '[ddr, onchip]',
    ),
  });

export const clock = nameOf('a clock', 'Clock of the element.', 'fabric');

/** The clock of an element that may also do without. Output: null for none. */
export const clockOrNone = z
  .string({ error: `must be the name of a clock or 'none'` })
  .transform((name) => (name === 'none' ? null : name))
  .meta({
    ...meta('Clock of the device; none acts to the picosecond.', `name of a clock or 'none'`, '', 'peripheral'),
  });

export const forward = (usual: string) =>
  cycles('Pipeline cycles for requests, at least one.', { min: 1, example: '2 cycles' }).prefault(usual);

export const back = cycles('Pipeline cycles for responses, at least one.', { min: 1, example: '1 cycle' }).prefault(
  '1 cycle',
);

export const sync = cycles('Synchroniser cycles paid by what comes in from another clock.', {
  example: '2 cycles',
}).prefault('2 cycles');

export const queue = (about: string, usual = 4) => count(about, { example: '4' }).prefault(usual);

export const pack = yesNo('May beats be packed to the full width? With no they pass one for one.').prefault('yes');

export const writeResponse = choice(
  ['final', 'early'],
  'When writes are answered: by the memory, or early by this element as soon as it has the last beat.',
).prefault('final');

/** `8`, `unlimited`, or `{reads: 8, writes: 4}`. */
export function outstanding(about: string, number: () => z.ZodType<number, string | number>) {
  const both = number().transform((each) => ({ reads: each, writes: each }));
  const each = z.strictObject({ reads: number(), writes: number() });
  return z
    .union([both, each])
    .meta({ ...meta(about, `whole number, 'unlimited', or {reads, writes}`, '', '{reads: 8, writes: 4}') });
}
