// The rule table as data: which command must follow which other one by how many clocks, and where. It is written from the
// standards' tables as quoted in the worked examples and in the notes of the speed grades, not from the scheduler.
import { Command } from '../../../src/model/dram/command.js';
import type { RuleTimes } from './rule-times.js';

/**
 * Where a rule looks for the earlier command, as seen from the later one: in its bank, its bank group, the other groups of
 * its rank, its rank, the other ranks, or the whole channel. A device without bank groups is one group.
 */
export type Scope = 'bank' | 'group' | 'other_group' | 'rank' | 'other_rank' | 'channel';

/** At least so many clocks from one command to another. */
export interface GapRule {
  readonly name: RuleName;
  readonly from: readonly number[];
  readonly to: readonly number[];
  readonly within: Scope;
  readonly clocks: (t: RuleTimes) => number;
}

/** At most `count` commands of some kinds to a rank within so many clocks; 0 clocks: no such rule. */
export interface WindowRule {
  readonly name: RuleName;
  readonly kinds: readonly number[];
  readonly count: number;
  readonly clocks: (t: RuleTimes) => number;
}

/** What each rule says. */
export const RULES = {
  tRCD: 'activate to read or write of the bank',
  tRAS: 'activate to precharge',
  tRC: 'activate to the next activate or refresh of the bank',
  tRP: 'precharge to activate or refresh of the bank',
  tRPab: 'precharge of all banks to activate or refresh',
  tRRD_S: 'activate to activate in another bank group',
  tRRD_L: 'activate to activate in the bank group',
  tFAW: 'at most four activates of a rank',
  tCCD_S: 'read to read, write to write in another bank group',
  tCCD_L: 'read to read, write to write in the bank group',
  data_bus: 'the data of two commands to a rank do not overlap',
  rank_gap: 'the data of two ranks keep a gap',
  read_to_write: 'read to write of the rank',
  tWTR_S: 'write to read in another bank group',
  tWTR_L: 'write to read in the bank group',
  tRTP: 'read to precharge',
  tWR: 'write to precharge',
  read_auto: 'read with auto-precharge to activate or refresh of the bank',
  write_auto: 'write with auto-precharge to activate or refresh of the bank',
  tRFC: 'refresh to activate or refresh',
  tRFCpb: 'refresh of one bank to activate of it, or to the next refresh',
  refresh_burst: 'at most eight refreshes of a rank in 32 tRFC (LPDDR2)',
  command_bus: 'one command at a time, as long as it takes',
  activate_open: 'no activate of an open bank',
  column_row: 'a read or write finds its row open',
  refresh_open: 'no refresh of what is open',
  order: 'the log is in the order of time',
} as const;

export type RuleName = keyof typeof RULES;

const { activate, read, write, readAuto, writeAuto, precharge, prechargeAll, refresh, refreshBank } = Command;
const READS = [read, readAuto];
const WRITES = [write, writeAuto];
const COLUMNS = [...READS, ...WRITES];
/** What takes a bank as an activate does: a refresh of one bank opens its rows inside. */
const OPENERS = [activate, refreshBank];
const ALL = Object.values(Command).filter((kind) => kind !== Command.none);

const isLow = (t: RuleTimes): boolean => t.standard.startsWith('LPDDR');
const data = (t: RuleTimes): number => t.burstLength / 2;
/** From the command to its first data. */
const readData = (t: RuleTimes): number => t.nCL + t.nDQSCK;
const writeData = (t: RuleTimes): number => t.nCWL + (isLow(t) ? 1 : 0);

/** Micron 4Gb DDR4 Rev G p.205; Alliance AS4C512M16D3L p.157; LPDDR4 as quoted by the Infineon driver. */
function readToWrite(t: RuleTimes): number {
  switch (t.standard) {
    case 'DDR2':
      return t.nCL + data(t) + 1 - t.nCWL;
    case 'DDR3':
      return t.nCL + t.nCCD_S + 2 - t.nCWL;
    case 'DDR4':
      return t.nCL + data(t) + 2 - t.nCWL;
    case 'LPDDR2-S4':
      return t.nCL + t.nDQSCK + data(t) + 1 - t.nCWL;
    default:
      // a write preamble of two clocks; half a clock of read postamble, which is rounded down
      return t.nCL + t.nDQSCK + data(t) + 2 - t.nCWL;
  }
}

function readToPrecharge(t: RuleTimes): number {
  if (t.standard === 'DDR2' || t.standard === 'LPDDR2-S4') return data(t) + Math.max(2, t.nRTP) - 2;
  if (isLow(t)) return data(t) + Math.max(8, t.nRTP) - 8;
  return t.nRTP;
}

/** All rules of the form "so many clocks after". */
export const GAP_RULES: readonly GapRule[] = [
  { name: 'tRCD', from: [activate], to: COLUMNS, within: 'bank', clocks: (t) => t.nRCD },
  { name: 'tRAS', from: [activate], to: [precharge], within: 'bank', clocks: (t) => t.nRAS },
  { name: 'tRAS', from: [activate], to: [prechargeAll], within: 'rank', clocks: (t) => t.nRAS },
  { name: 'tRC', from: [activate], to: OPENERS, within: 'bank', clocks: (t) => t.nRC },
  { name: 'tRC', from: [activate], to: [refresh], within: 'rank', clocks: (t) => t.nRC },
  { name: 'tRP', from: [precharge], to: OPENERS, within: 'bank', clocks: (t) => t.nRP },
  { name: 'tRP', from: [precharge], to: [refresh], within: 'rank', clocks: (t) => t.nRP },
  { name: 'tRPab', from: [prechargeAll], to: [...OPENERS, refresh], within: 'rank', clocks: (t) => t.nRPab },
  { name: 'tRRD_S', from: OPENERS, to: OPENERS, within: 'other_group', clocks: (t) => t.nRRD_S },
  { name: 'tRRD_L', from: OPENERS, to: OPENERS, within: 'group', clocks: (t) => t.nRRD_L },
  { name: 'tCCD_S', from: READS, to: READS, within: 'other_group', clocks: (t) => t.nCCD_S },
  { name: 'tCCD_S', from: WRITES, to: WRITES, within: 'other_group', clocks: (t) => t.nCCD_S },
  { name: 'tCCD_L', from: READS, to: READS, within: 'group', clocks: (t) => t.nCCD_L },
  { name: 'tCCD_L', from: WRITES, to: WRITES, within: 'group', clocks: (t) => t.nCCD_L },
  ...dataRules('data_bus', 'rank', () => 0),
  ...dataRules('rank_gap', 'other_rank', (t) => t.nRankGap),
  { name: 'read_to_write', from: READS, to: WRITES, within: 'rank', clocks: readToWrite },
  { name: 'tWTR_S', from: WRITES, to: READS, within: 'other_group', clocks: (t) => writeData(t) + data(t) + t.nWTR_S },
  { name: 'tWTR_L', from: WRITES, to: READS, within: 'group', clocks: (t) => writeData(t) + data(t) + t.nWTR_L },
  { name: 'tRTP', from: READS, to: [precharge], within: 'bank', clocks: readToPrecharge },
  { name: 'tRTP', from: READS, to: [prechargeAll], within: 'rank', clocks: readToPrecharge },
  { name: 'tWR', from: WRITES, to: [precharge], within: 'bank', clocks: (t) => writeData(t) + data(t) + t.nWR },
  { name: 'tWR', from: WRITES, to: [prechargeAll], within: 'rank', clocks: (t) => writeData(t) + data(t) + t.nWR },
  ...autoRules('read_auto', readAuto, readToPrecharge),
  ...autoRules('write_auto', writeAuto, (t) => writeData(t) + data(t) + t.nWRauto),
  { name: 'tRFC', from: [refresh], to: [...OPENERS, refresh], within: 'rank', clocks: (t) => t.nRFC },
  { name: 'tRFCpb', from: [refreshBank], to: [activate], within: 'bank', clocks: (t) => t.nRFCpb },
  { name: 'tRFCpb', from: [refreshBank], to: [refreshBank, refresh], within: 'rank', clocks: (t) => t.nRFCpb },
  { name: 'command_bus', from: [activate], to: ALL, within: 'channel', clocks: (t) => t.activateClocks },
  { name: 'command_bus', from: COLUMNS, to: ALL, within: 'channel', clocks: (t) => t.columnClocks },
  {
    name: 'command_bus',
    from: [precharge, prechargeAll, refresh, refreshBank],
    to: ALL,
    within: 'channel',
    clocks: () => 1,
  },
];

/** All rules of the form "at most so many within". */
export const WINDOW_RULES: readonly WindowRule[] = [
  { name: 'tFAW', kinds: OPENERS, count: 4, clocks: (t) => t.nFAW },
  {
    // Micron 2Gb LPDDR2-S4 Rev N p.77: refreshes in a burst are four tRFC apart, over a window of eight
    name: 'refresh_burst',
    kinds: [refresh],
    count: 8,
    clocks: (t) => (t.standard === 'LPDDR2-S4' ? 4 * 8 * t.nRFC : 0),
  },
];

/** The data of a command must not begin before that of an earlier one has ended, and a gap passed. */
function dataRules(name: RuleName, within: Scope, gap: (t: RuleTimes) => number): GapRule[] {
  const ends = (first: (t: RuleTimes) => number, second: (t: RuleTimes) => number) => (t: RuleTimes) =>
    first(t) + data(t) + gap(t) - second(t);
  return [
    { name, from: READS, to: READS, within, clocks: ends(readData, readData) },
    { name, from: WRITES, to: WRITES, within, clocks: ends(writeData, writeData) },
    { name, from: READS, to: WRITES, within, clocks: ends(readData, writeData) },
    { name, from: WRITES, to: READS, within, clocks: ends(writeData, readData) },
  ];
}

/** The precharge inside the device comes after the recovery; that it waits for tRAS too follows from tRC = tRAS + tRP. */
function autoRules(name: RuleName, from: number, recovery: (t: RuleTimes) => number): GapRule[] {
  const clocks = (t: RuleTimes): number => recovery(t) + t.nRP;
  return [
    { name, from: [from], to: OPENERS, within: 'bank', clocks },
    { name, from: [from], to: [refresh], within: 'rank', clocks },
  ];
}
