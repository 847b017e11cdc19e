import * as z from 'zod';
import { readDataRate, readExactTime, readQuantity, type Reading } from '../quantity.js';
import { clocks, count, meta, report, size, someTime } from './fields.js';

type Period = { numerator: number; denominator: number };

function exactPeriod(
  read: (written: string | number) => Reading<Period>,
  about: string,
  kind: string,
  example: string,
) {
  return z
    .union([z.string(), z.number()], { error: `must be a ${kind}` })
    .transform((input, ctx) => {
      const reading = read(input);
      if ('value' in reading) return reading.value;
      report(ctx, reading.fault, input);
      return z.NEVER;
    })
    .meta({ ...meta(about, kind, example.split(' ')[1]!, example) });
}

/** A timing as the data sheets have it: a time, or clocks. */
export type Timing = { ps: number } | { clocks: number };

function timing(about: string, example: string) {
  return z
    .union([z.string(), z.number()], { error: 'must be a time or a number of clocks' })
    .transform((input, ctx): Timing => {
      const inClocks = /clocks?$/.test(String(input));
      const reading = readQuantity(inClocks ? 'clocks' : 'time', input);
      if ('fault' in reading) {
        const { code, message } = reading.fault;
        report(ctx, { code, message, hint: `write e.g. '13.75 ns' or '11 clocks'` }, input);
      } else if (reading.value < 0) {
        report(ctx, { code: 'out_of_range', message: 'must not be negative', hint: `write e.g. '${example}'` }, input);
      }
      const value = 'value' in reading ? reading.value : 0;
      return inClocks ? { clocks: value } : { ps: value };
    })
    .meta({ ...meta(about, 'time or clocks', 'ns, clocks', example) });
}

/** A latency that the standards count in clocks: `11` or `11 clocks`. */
function latency(about: string, example: string) {
  return z
    .union([z.number().int().min(1), clocks(about, { min: 1, example: `${example} clocks` })])
    .meta({ ...meta(about, 'clocks', 'clocks, or a bare number', example) });
}

/** Parameters one by one: over a speed grade, or on their own. What is not given comes from the grade. */
export const timingSchema = z.strictObject({
  tCK: exactPeriod(readExactTime, 'Period of the DRAM clock, kept exactly.', 'time', '1.25 ns').optional(),
  rate: exactPeriod(
    readDataRate,
    'Transfers per second, two a clock; in place of tCK.',
    'transfer rate',
    '1600 MT/s',
  ).optional(),
  CL: latency('Read latency.', '11').optional(),
  CWL: latency('Write latency.', '8').optional(),
  tRCD: timing('Activate to column command.', '13.75 ns').optional(),
  tRP: timing('Precharge of one bank.', '13.75 ns').optional(),
  tRPab: timing('Precharge of all banks.', '15 ns').optional(),
  tRAS: timing('Activate to precharge.', '35 ns').optional(),
  tRC: timing('Activate to activate of the same bank.', '48.75 ns').optional(),
  tRRD_S: timing('Activate to activate, other bank group.', '6 ns').optional(),
  tRRD_L: timing('Activate to activate, same bank group.', '6 ns').optional(),
  tFAW: timing('Window of at most four activates.', '30 ns').optional(),
  tCCD_S: latency('Column to column command, other bank group.', '4').optional(),
  tCCD_L: latency('Column to column command, same bank group.', '4').optional(),
  tWR: timing('Last write data to precharge.', '15 ns').optional(),
  tWTR_S: timing('Last write data to read, other bank group.', '7.5 ns').optional(),
  tWTR_L: timing('Last write data to read, same bank group.', '7.5 ns').optional(),
  tRTP: timing('Read to precharge.', '7.5 ns').optional(),
  tRFC: timing('Refresh of all banks.', '260 ns').optional(),
  tRFCpb: timing('Refresh of one bank.', '90 ns').optional(),
  tREFI: someTime('Time between refreshes of a rank.', { example: '7.8 us' }).optional(),
  tDQSCK: timing('Further delay of read data, LPDDR.', '3.5 ns').optional(),
  read_preamble: clocks('Preamble of read data; lengthens the gap between ranks.', { example: '1 clock' }).optional(),
  write_preamble: clocks('Preamble of write data; lengthens the read-to-write gap.', {
    min: 1,
    example: '1 clock',
  }).optional(),
  rank_gap: clocks('Idle clocks between data of different ranks.', { example: '2 clocks' }).optional(),
  activate_clocks: clocks('Clocks of an activate on the command bus.', { min: 1, example: '1 clock' }).optional(),
  column_clocks: clocks('Clocks of a read or write on the command bus.', { min: 1, example: '1 clock' }).optional(),
  burst_length: count('Beats of a DRAM burst.', { min: 2, max: 32, example: '8' }).optional(),
  banks: count('Banks of a rank, all groups together.', { example: '8' }).optional(),
  bank_groups: count('Bank groups.', { example: '1' }).optional(),
  page_size: size('Bytes of one row of one device.', { example: '2 KiB' }).optional(),
});

/** Timings that were given one by one. */
export type TimingOverrides = z.output<typeof timingSchema>;
