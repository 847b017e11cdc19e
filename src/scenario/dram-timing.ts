import { type DramInputs, cell, gradeRows, readInputs, statedClocks, valueOf } from './dram-grade.js';
import { type DramClock, clockOf, clocksOf } from './dram-clock.js';
import { commandGaps } from './dram-gaps.js';
import type { DramTimingSpec } from './scenario.js';

export interface TimingOptions {
  /** Width of one channel's data bus. */
  busBytes: number;
  /** Density of one device; null takes the grade's smallest from 4 Gbit on, else its largest. */
  densityGbit: number | null;
  /** Values in place of the grade's: times (`tRCD`) in picoseconds, all others (`nRCD`, `CL`) in clocks or counts. */
  overrides: Map<string, number>;
}

/** What must be stated where there is no grade; the rest has a meaning when left out. */
const REQUIRED =
  'tCK CL CWL tRCD tRP tRAS tRRD_S tFAW tCCD_S tWR tWTR_S tRTP tRFC tREFI burst_length banks page_bytes device_bits'.split(
    ' ',
  );
const BURST_REFRESHES = 8;
const GROUP_TIMES = ['tRRD_L', 'tCCD_L', 'tWTR_L'];
const DENSITIES = [1, 2, 4, 8, 16];

/** Names of the speed grades, in the order of the table. */
export function gradeNames(): string[] {
  return gradeRows().map((row) => row.get('row_id')!);
}

/**
 * DRAM timing in clocks from a speed grade, from single values, or from a grade with some values replaced. A grade's
 * least clock counts hold for replaced values too.
 *
 * @param grade a name of `gradeNames()`; null when every needed value is in `overrides`
 * @throws RangeError naming what is unknown, missing, out of range or in conflict
 */
export function timingOf(grade: string | null, options: TimingOptions): DramTimingSpec {
  const inputs = readInputs(grade, options.overrides);
  if (grade === null) requireAll(inputs, REQUIRED);
  const clock = clockOf(inputs);
  const shape = shapeOf(inputs, options.busBytes);
  const clocks = bankClocks(inputs, clock, shape);
  return {
    grade,
    standard: inputs.standard,
    tckNumerator: clock.numerator,
    tckDenominator: clock.denominator,
    ...shape,
    ...clocks,
    ...refreshTimes(inputs, clock, options.densityGbit),
    ...commandGaps(inputs, { burstLength: shape.burstLength, ...clocks }),
    nRankGap: valueOf(inputs, 'rank_gap') ?? 2,
    ...commandLengths(inputs),
  };
}

type Shape = Pick<DramTimingSpec, 'busBytes' | 'deviceBits' | 'burstLength' | 'banks' | 'bankGroups' | 'rowBytes'>;

/** Size of the device, and of a row over all devices that fill the bus. */
function shapeOf(inputs: DramInputs, busBytes: number): Shape {
  const deviceBits = valueOf(inputs, 'device_bits')!;
  const [banks, bankGroups] = [valueOf(inputs, 'banks')!, valueOf(inputs, 'bank_groups') ?? 1];
  const burstLength = valueOf(inputs, 'burst_length')!;
  const devices = (busBytes * 8) / deviceBits;
  if (!(devices >= 1) || !Number.isInteger(devices)) {
    throw new RangeError(`the bus must be a whole number of ${deviceBits}-bit devices wide, got ${busBytes * 8} bits`);
  }
  if (banks % bankGroups !== 0) throw new RangeError(`${banks} banks do not divide into ${bankGroups} bank groups`);
  if (burstLength % 2 !== 0) throw new RangeError(`burst_length must be even, got ${burstLength}`);
  if (bankGroups > 1) requireAll(inputs, GROUP_TIMES);
  else refuseAny(inputs, GROUP_TIMES);
  return { busBytes, deviceBits, burstLength, banks, bankGroups, rowBytes: valueOf(inputs, 'page_bytes')! * devices };
}

/** Everything about banks that the table's rules give as the larger of a time and a least clock count. */
function bankClocks(inputs: DramInputs, clock: DramClock, { banks, bankGroups }: Shape) {
  const up = (name: string): number => clocksOf(inputs, clock, name)!;
  const long = (name: string): number => up(bankGroups > 1 ? `${name}_L` : `${name}_S`);
  const [nRP, nRAS] = [up('tRP'), up('tRAS')];
  const nCCD_S = nCCDShort(inputs, clock);
  const nWR = up('tWR');
  return {
    nCL: valueOf(inputs, 'CL')!,
    nCWL: valueOf(inputs, 'CWL')!,
    nRCD: up('tRCD'),
    nRP,
    nRPab: nRPabOf(inputs, clock, nRP, banks),
    nRAS,
    nRC: Math.max(clocksOf(inputs, clock, 'tRC') ?? 0, nRAS + nRP),
    nRRD_S: up('tRRD_S'),
    nRRD_L: long('tRRD'),
    nFAW: up('tFAW'),
    nCCD_S,
    nCCD_L: bankGroups > 1 ? up('tCCD_L') : nCCD_S,
    nWR,
    nWRauto: autoRecovery(inputs, nWR),
    nWTR_S: up('tWTR_S'),
    nWTR_L: long('tWTR'),
    nRTP: up('tRTP'),
    nDQSCK: inputs.standard === 'custom' || isLowPower(inputs) ? (clocksOf(inputs, clock, 'tDQSCK') ?? 0) : 0,
  };
}

/**
 * LPDDR4 devices take the write recovery of an auto-precharge from a mode register, which holds few values: nWR = 30 at
 * 3200 and 40 at 4266 are in the notes of the table of speed grades, the others from memory of JESD209-4.
 */
const LPDDR4_RECOVERIES = [6, 10, 16, 20, 24, 30, 34, 40];

function autoRecovery(inputs: DramInputs, nWR: number): number {
  if (!inputs.standard.startsWith('LPDDR4')) return nWR;
  return LPDDR4_RECOVERIES.find((clocks) => clocks >= nWR) ?? nWR;
}

/** The table has this one in clocks; stated, it is a time like the others. */
function nCCDShort(inputs: DramInputs, clock: DramClock): number {
  return clocksOf(inputs, clock, 'tCCD_S') ?? cell(inputs, 'tCCD_S_ck')!;
}

/** Precharge of all banks: one clock longer on DDR2 of 8 banks, a time of its own on LPDDR, else as for one bank. */
function nRPabOf(inputs: DramInputs, clock: DramClock, nRP: number, banks: number): number {
  if (inputs.standard === 'DDR2' && !isStated(inputs, 'tRPab')) return banks === 8 ? nRP + 1 : nRP;
  return Math.max(nRP, clocksOf(inputs, clock, 'tRPab') ?? 0, cell(inputs, 'tRP_min_ck') ?? 0);
}

function refreshTimes(inputs: DramInputs, clock: DramClock, densityGbit: number | null) {
  const stated = inputs.overrides.get('tRFC');
  const clocks = statedClocks(inputs, 'tRFC');
  const density = inputs.grade === null || isStated(inputs, 'tRFC') ? densityGbit : densityOf(inputs, densityGbit);
  const perBank =
    inputs.overrides.get('tRFCpb') ?? cell(inputs, `tRFCpb_${density ?? densityOf(inputs, null)}Gb_ps`) ?? 0;
  const nRFC = clocks ?? clock.up(stated ?? cell(inputs, `tRFC_${density}Gb_ps`)!);
  return {
    nRFC,
    // Micron 2Gb LPDDR2-S4 Rev N p.77: four tRFC apart, over a window of eight
    refreshBurstClocks: inputs.standard === 'LPDDR2-S4' ? 4 * BURST_REFRESHES * nRFC : 0,
    nRFCpb: statedClocks(inputs, 'tRFCpb') ?? clock.up(perBank),
    tREFIps: valueOf(inputs, 'tREFI')!,
  };
}

function densityOf(inputs: DramInputs, wanted: number | null): number {
  const known = DENSITIES.filter((gbit) => cell(inputs, `tRFC_${gbit}Gb_ps`) !== undefined);
  const density = wanted ?? known.find((gbit) => gbit >= 4) ?? known.at(-1) ?? 0;
  if (wanted !== null && !known.includes(wanted)) {
    throw new RangeError(`${inputs.grade} has no device of ${wanted} Gbit, must be one of ${known.join(', ')} Gbit`);
  }
  return density;
}

/** LPDDR4 sends an activate, and a read or write, as two commands of two clocks each. */
function commandLengths(inputs: DramInputs) {
  const usual = inputs.standard.startsWith('LPDDR4') ? 4 : 1;
  return {
    activateClocks: valueOf(inputs, 'activate_clocks') ?? usual,
    columnClocks: valueOf(inputs, 'column_clocks') ?? usual,
  };
}

function isStated(inputs: DramInputs, time: string): boolean {
  return inputs.overrides.has(time) || statedClocks(inputs, time) !== undefined;
}

function isLowPower(inputs: DramInputs): boolean {
  return inputs.standard.startsWith('LPDDR');
}

function requireAll(inputs: DramInputs, names: readonly string[]): void {
  const missing = names.filter((name) => valueOf(inputs, name) === undefined && !isStated(inputs, name));
  if (missing.length === 0) return;
  const who = inputs.grade ?? 'DRAM timing without a speed grade';
  throw new RangeError(`${who} must state ${missing.join(', ')}`);
}

function refuseAny(inputs: DramInputs, names: readonly string[]): void {
  const stray = names.filter((name) => isStated(inputs, name));
  if (stray.length > 0) throw new RangeError(`${stray.join(', ')} must not be stated where there is one bank group`);
}
