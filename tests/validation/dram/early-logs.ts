// Logs written by hand, each with its last command one clock early for one rule: the checker must name that rule, and must
// find nothing to say once the command goes a clock later. The clocks come from the data sheets' numbers in the comments.
import { Command } from '../../../src/model/dram/command.js';
import type { Issued } from './legality.js';
import { gradeTimes, type RuleTimes } from './rule-times.js';
import type { RuleName } from './rules.js';

export interface EarlyLog {
  readonly rule: RuleName;
  readonly what: string;
  readonly times: RuleTimes;
  readonly log: readonly Issued[];
  /** Will a clock more make it legal? Rules about open rows have no clock. */
  readonly late: boolean;
}

// CL 11, CWL 8, RCD 11, RP 11, RAS 28, RC 39, RRD 6, FAW 32, CCD 4, RTP 6, WR 12, WTR 6, RFC 208 at 4 Gbit; a burst is 4
const DDR3 = gradeTimes('DDR3-1600K-x16');
// CL 16, CWL 12, RCD 16, RP 16, RAS 39, RC 55, RRD 7 and 8, FAW 36, CCD 4 and 6, WTR 3 and 9; two groups of four banks
const DDR4 = gradeTimes('DDR4-2400R-x16');
// CL 5, CWL 4, CCD 2, RTP 3, RP 5, RPab 6
const DDR2 = gradeTimes('DDR2-800D-x8');
// CL 28 and 6 of DQSCK, CWL 14, RCD 29, RP 29, RAS 68, RC 97, RRD 16, CCD 8, WR 29 (auto 30), RFC 288, RFCpb 144
const LPDDR4 = gradeTimes('LPDDR4-3200-x16ch');
// CL 6 and 3 of DQSCK, CWL 3, RCD 8, RP 8, RPab 9, RTP 3, WR 6, WTR 3, RFC 52
const LPDDR2 = gradeTimes('LPDDR2-800-S4-1Gb-x32');

/** All of them; rules whose clock is another's too on every device get a device on which they are apart. */
export const EARLY_LOGS: readonly EarlyLog[] = [
  early('tRCD', 'DDR3 read', DDR3, '0 activate 0/0/0 5, 10 read 0/0/0 5'),
  early('tRCD', 'DDR4 write', DDR4, '0 activate 0/1/5 5, 15 writeAuto 0/1/5 5'),
  early('tRAS', 'DDR3 precharge', DDR3, '0 activate 0/0/0 5, 27 precharge 0/0/0'),
  early('tRAS', 'DDR3 precharge of all', DDR3, '0 activate 0/0/0 5, 8 activate 0/0/1 5, 35 prechargeAll 0/0/0'),
  early('tRC', 'two clocks above tRAS + tRP', { ...DDR3, nRC: 41 }, [
    '0 activate 0/0/0 5, 28 precharge 0/0/0, 40 activate 0/0/0 6',
  ]),
  early('tRC', 'the same before a refresh', { ...DDR3, nRC: 41 }, [
    '0 activate 0/0/0 5, 28 precharge 0/0/0, 40 refresh 0/0/0',
  ]),
  early('tRP', 'DDR3 activate', DDR3, '0 activate 0/0/0 5, 40 precharge 0/0/0, 50 activate 0/0/0 6'),
  early('tRP', 'DDR3 refresh', DDR3, '0 activate 0/0/3 5, 40 precharge 0/0/3, 50 refresh 0/0/0'),
  early('tRP', 'LPDDR4 refresh of the bank', LPDDR4, '0 activate 0/0/3 5, 80 precharge 0/0/3, 108 refreshBank 0/0/3'),
  early('tRPab', 'DDR2 refresh', DDR2, '0 activate 0/0/0 5, 40 prechargeAll 0/0/0, 45 refresh 0/0/0'),
  early('tRPab', 'LPDDR2 activate', LPDDR2, '0 activate 0/0/0 5, 40 prechargeAll 0/0/0, 48 activate 0/0/2 5'),
  early('tRRD_L', 'DDR3, one group', DDR3, '0 activate 0/0/0 5, 5 activate 0/0/1 5'),
  early('tRRD_L', 'DDR4', DDR4, '0 activate 0/1/4 5, 7 activate 0/1/6 5'),
  early('tRRD_S', 'DDR4', DDR4, '0 activate 0/1/4 5, 6 activate 0/0/0 5'),
  early('tRRD_L', 'LPDDR4 refresh of a bank', LPDDR4, '0 activate 0/0/0 5, 15 refreshBank 0/0/1'),
  early('tRRD_L', 'LPDDR4 activate after it', LPDDR4, '0 refreshBank 0/0/1, 15 activate 0/0/0 5'),
  early('tFAW', 'DDR3', DDR3, [
    '0 activate 0/0/0 5, 6 activate 0/0/1 5, 12 activate 0/0/2 5, 18 activate 0/0/3 5, 31 activate 0/0/4 5',
  ]),
  early('tFAW', 'with a refresh of a bank', { ...LPDDR4, nFAW: 70 }, [
    '0 activate 0/0/0 5, 16 activate 0/0/1 5, 32 refreshBank 0/0/2, 48 activate 0/0/3 5, 69 activate 0/0/4 5',
  ]),
  early('tCCD_L', 'DDR4 reads', DDR4, '0 activate 0/0/0 5, 16 read 0/0/0 5, 21 read 0/0/0 5'),
  early('tCCD_L', 'DDR4 writes', DDR4, '0 activate 0/0/0 5, 16 write 0/0/0 5, 21 write 0/0/0 5'),
  early('tCCD_S', 'bursts of four on DDR4', { ...DDR4, burstLength: 4 }, [
    '0 activate 0/0/0 5, 9 activate 0/1/4 5, 30 read 0/0/0 5, 33 read 0/1/4 5',
  ]),
  early('data_bus', 'DDR2 reads', DDR2, '0 activate 0/0/0 5, 30 read 0/0/0 5, 33 read 0/0/0 5'),
  early('data_bus', 'DDR2 writes', DDR2, '0 activate 0/0/0 5, 30 write 0/0/0 5, 33 write 0/0/0 5'),
  early('rank_gap', 'DDR3 reads', DDR3, '0 activate 0/0/0 5, 1 activate 1/0/0 5, 30 read 0/0/0 5, 35 read 1/0/0 5'),
  early('rank_gap', 'DDR3 writes', DDR3, '0 activate 0/0/0 5, 1 activate 1/0/0 5, 30 write 0/0/0 5, 35 write 1/0/0 5'),
  // 11 + 4 + 2 − 8 = 9 and 8 + 4 + 2 − 11 = 3
  early('rank_gap', 'DDR3 write after read', DDR3, [
    '0 activate 0/0/0 5, 1 activate 1/0/0 5, 30 read 0/0/0 5, 38 write 1/0/0 5',
  ]),
  early('rank_gap', 'DDR3 read after write', DDR3, [
    '0 activate 0/0/0 5, 1 activate 1/0/0 5, 30 write 0/0/0 5, 32 read 1/0/0 5',
  ]),
  // 11 + 4 + 2 − 8 = 9 (also Alliance AS4C512M16D3L p.157), 16 + 4 + 2 − 12 = 10 (Micron DDR4 p.205)
  early('read_to_write', 'DDR3', DDR3, '0 activate 0/0/0 5, 30 read 0/0/0 5, 38 write 0/0/0 5'),
  early('read_to_write', 'DDR4', DDR4, '0 activate 0/0/0 5, 30 read 0/0/0 5, 39 write 0/0/0 5'),
  // 5 + 4 + 1 − 4 = 6; 6 + 3 + 4 + 1 − 3 = 11; 28 + 6 + 8 + 2 − 14 = 30
  early('read_to_write', 'DDR2', DDR2, '0 activate 0/0/0 5, 30 read 0/0/0 5, 35 write 0/0/0 5'),
  early('read_to_write', 'LPDDR2', LPDDR2, '0 activate 0/0/0 5, 30 read 0/0/0 5, 40 write 0/0/0 5'),
  early('read_to_write', 'LPDDR4', LPDDR4, '0 activate 0/0/0 5, 30 read 0/0/0 5, 59 write 0/0/0 5'),
  // 12 + 4 + 3 = 19 and 12 + 4 + 9 = 25; 8 + 4 + 6 = 18; 14 + 1 + 8 + 16 = 39
  early('tWTR_S', 'DDR4', DDR4, '0 activate 0/0/0 5, 9 activate 0/1/4 5, 30 write 0/0/0 5, 48 read 0/1/4 5'),
  early('tWTR_L', 'DDR4', DDR4, '0 activate 0/0/0 5, 30 write 0/0/0 5, 54 read 0/0/0 5'),
  early('tWTR_L', 'DDR3, one group', DDR3, '0 activate 0/0/0 5, 9 activate 0/0/1 5, 30 write 0/0/0 5, 47 read 0/0/1 5'),
  early('tWTR_L', 'LPDDR4', LPDDR4, '0 activate 0/0/0 5, 30 write 0/0/0 5, 68 read 0/0/0 5'),
  early('tRTP', 'DDR3', DDR3, '0 activate 0/0/0 5, 40 read 0/0/0 5, 45 precharge 0/0/0'),
  // 4 + max(2, 3) − 2 = 5
  early('tRTP', 'DDR2, all banks', DDR2, '0 activate 0/0/0 5, 40 read 0/0/0 5, 44 prechargeAll 0/0/0'),
  // 8 + max(8, 12) − 8 = 12
  early('tRTP', 'LPDDR4', LPDDR4, '0 activate 0/0/0 5, 90 read 0/0/0 5, 101 precharge 0/0/0'),
  // 8 + 4 + 12 = 24; 3 + 1 + 4 + 6 = 14; 14 + 1 + 8 + 29 = 52
  early('tWR', 'DDR3', DDR3, '0 activate 0/0/0 5, 11 write 0/0/0 5, 34 precharge 0/0/0'),
  early('tWR', 'LPDDR2, all banks', LPDDR2, '0 activate 0/0/0 5, 11 write 0/0/0 5, 24 prechargeAll 0/0/0'),
  early('tWR', 'LPDDR4', LPDDR4, '0 activate 0/0/0 5, 40 write 0/0/0 5, 91 precharge 0/0/0'),
  // 6 + 11 and 8 + 4 + 12 + 11 = 35; 14 + 1 + 8 + 30 + 29 = 82, with the mode register's recovery
  early('read_auto', 'DDR3', DDR3, '0 activate 0/0/0 5, 40 readAuto 0/0/0 5, 56 activate 0/0/0 6'),
  early('read_auto', 'DDR3 refresh', DDR3, '0 activate 0/0/0 5, 40 readAuto 0/0/0 5, 56 refresh 0/0/0'),
  early('write_auto', 'DDR3', DDR3, '0 activate 0/0/0 5, 40 writeAuto 0/0/0 5, 74 activate 0/0/0 6'),
  early('write_auto', 'LPDDR4', LPDDR4, '0 activate 0/0/0 5, 40 writeAuto 0/0/0 5, 121 activate 0/0/0 6'),
  early('tRFC', 'DDR3 activate', DDR3, '0 refresh 0/0/0, 207 activate 0/0/0 5'),
  early('tRFC', 'DDR3 refresh', DDR3, '0 refresh 0/0/0, 207 refresh 0/0/0'),
  early('tRFCpb', 'LPDDR4 activate', LPDDR4, '0 refreshBank 0/0/0, 143 activate 0/0/0 5'),
  early('tRFCpb', 'LPDDR4 next bank', LPDDR4, '0 refreshBank 0/0/0, 143 refreshBank 0/0/1'),
  // 32 × 52 = 1664
  early('refresh_burst', 'LPDDR2', LPDDR2, [
    '0 refresh 0/0/0, 52 refresh 0/0/0, 104 refresh 0/0/0, 156 refresh 0/0/0, 208 refresh 0/0/0, 260 refresh 0/0/0',
    '312 refresh 0/0/0, 364 refresh 0/0/0, 1663 refresh 0/0/0',
  ]),
  early('command_bus', 'two ranks in one clock', DDR3, '0 activate 0/0/0 5, 0 activate 1/0/0 5'),
  early('command_bus', 'LPDDR4 activate', LPDDR4, '0 activate 0/0/0 5, 3 activate 1/0/0 5'),
  early('command_bus', 'LPDDR4 read', LPDDR4, '0 activate 0/0/0 5, 40 read 0/0/0 5, 43 activate 1/0/0 5'),
  early('command_bus', 'DDR4 precharge', DDR4, '0 activate 0/0/0 5, 60 precharge 0/0/0, 60 activate 1/0/0 5'),
  never('activate_open', 'the same row', DDR3, '0 activate 0/0/0 5, 500 activate 0/0/0 5'),
  never('column_row', 'a closed bank', DDR3, '0 activate 0/0/0 5, 500 read 0/0/1 5'),
  never('column_row', 'another row', DDR3, '0 activate 0/0/0 5, 500 write 0/0/0 6'),
  never('column_row', 'after an auto-precharge', DDR3, '0 activate 0/0/0 5, 100 readAuto 0/0/0 5, 500 read 0/0/0 5'),
  never('column_row', 'after a precharge of all', DDR3, '0 activate 0/0/0 5, 100 prechargeAll 0/0/0, 500 read 0/0/0 5'),
  never('refresh_open', 'a rank with an open bank', DDR3, '0 activate 0/0/7 5, 500 refresh 0/0/0'),
  never('refresh_open', 'an open bank', LPDDR4, '0 activate 0/0/7 5, 500 refreshBank 0/0/7'),
  { ...early('order', 'back in time', DDR3, '500 activate 0/0/0 5, 499 activate 1/0/0 5'), late: false },
];

/** `clock command rank/group/bank row`, between commas. */
function early(rule: RuleName, what: string, times: RuleTimes, text: string | readonly string[]): EarlyLog {
  const entries = [text].flat().flatMap((part) => part.split(', '));
  return { rule, what, times, log: entries.map((entry) => parsed(entry)), late: true };
}

function never(rule: RuleName, what: string, times: RuleTimes, text: string): EarlyLog {
  return { ...early(rule, what, times, text), late: false };
}

function parsed(entry: string): Issued {
  const [clock, name, place, row] = entry.split(' ');
  const [rank, group, bank] = place!.split('/').map(Number);
  const kind = Command[name as keyof typeof Command];
  return { clock: Number(clock), kind, rank: rank!, group: group!, bank: bank!, row: Number(row ?? -1) };
}

/** The log with its last command so many clocks later. */
export function delayed(log: readonly Issued[], clocks: number): Issued[] {
  const last = log.at(-1)!;
  return [...log.slice(0, -1), { ...last, clock: last.clock + clocks }];
}
