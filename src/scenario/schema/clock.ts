import * as z from 'zod';
import { readExactTime } from '../quantity.js';
import { frequency, meta, report } from './fields.js';

const period = z
  .union([z.string(), z.number()], { error: 'must be a time' })
  .transform((input, ctx) => {
    const reading = readExactTime(input);
    if ('value' in reading) return reading.value;
    report(ctx, reading.fault, input);
    return z.NEVER;
  })
  .meta({ ...meta('Period of the clock, kept exactly.', 'time', 'ps, ns, us', '1.25 ns') });

/** A named clock. Output: its period as a reduced fraction of a picosecond. */
export const clockSchema = z
  .union([
    frequency('Frequency of the clock.'),
    z.strictObject({
      frequency: frequency('Frequency of the clock, kept exactly; fractions such as 800/3 MHz are allowed.'),
    }),
    z.strictObject({ period }),
  ])
  .transform((clock) => ('frequency' in clock ? clock.frequency : 'period' in clock ? clock.period : clock))
  .meta({
    ...meta(
      `A clock: its frequency, or {period: …}. Elements that name the same clock cross without a synchroniser.`,
      'frequency or {period}',
      'Hz, kHz, MHz, GHz',
      '200 MHz',
    ),
  });
