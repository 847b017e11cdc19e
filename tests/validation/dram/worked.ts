import { readFileSync } from 'node:fs';
import { csvRows } from '../../../src/scenario/csv-rows.js';
import { timingOf } from '../../../src/scenario/dram-timing.js';
import type { DramTimingSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from '../../model/dram/grade-timing.js';
import {
  activateSpacing,
  banksInTurn,
  hitSpacing,
  mixPeriod,
  oneBurst,
  randomShare,
  readLatencies,
  refreshPercent,
  rowPeriod,
  turnarounds,
  writeToPrecharge,
} from './measured.js';
import { gradeTimes } from './rule-times.js';

/** A worked example with what the model did. */
export interface Worked {
  readonly quantity: string;
  readonly expected: number;
  readonly measured: number;
  readonly unit: string;
  readonly tolerance: number;
}

/** The table prints four decimals; halves may have been rounded either way. */
const PRINTED = 0.000_050_001;

const EXAMPLES = csvRows(readFileSync(new URL('./data/dram-worked-examples.csv', import.meta.url), 'utf8'));

/** Every worked example of a grade, measured. */
export function workedExamples(grade: string): Worked[] {
  const measured = measure(grade);
  return EXAMPLES.filter((row) => row.get('row_id') === grade).map((row) => {
    const quantity = row.get('quantity')!;
    const [value, tolerance] = [measured.get(quantity) ?? [Number.NaN, 0]].flat();
    return {
      quantity,
      expected: Number(row.get('expected')),
      measured: value!,
      unit: unitOf(quantity),
      tolerance: PRINTED + (tolerance ?? 0),
    };
  });
}

/** How many examples the table has. */
export const WORKED_COUNT = EXAMPLES.length;

const UNITS: readonly (readonly [RegExp, string])[] = [
  [/_GBps$/, 'GB/s'],
  [/_pct/, '%'],
  [/_ns$/, 'ns'],
  [/_bits$/, 'bits'],
  [/_bytes$/, 'bytes'],
  [/Mact/, 'million/s'],
];

function unitOf(quantity: string): string {
  return UNITS.find(([pattern]) => pattern.test(quantity))?.[1] ?? 'clocks';
}

/** Quantity → what was measured, and what the rounding of its time to clocks may make of it. */
type Found = Map<string, number | [number, number]>;

function measure(grade: string): Found {
  const timing = timingOfGrade(grade);
  const found: Found = new Map();
  const tckNs = timing.tckNumerator / timing.tckDenominator / 1000;
  addPeak(found, timing, tckNs);
  addLatencies(found, grade, timing, tckNs);
  addActivates(found, timing, tckNs);
  addTurnarounds(found, timing);
  addStreams(found, timing);
  addRefresh(found, grade, timing);
  return found;
}

function addPeak(found: Found, timing: DramTimingSpec, tckNs: number): void {
  const { bytes, clocks } = oneBurst(timing);
  found.set('burst_bytes', bytes);
  // two beats a clock
  found.set('bus_bits', (bytes * 8) / (2 * Math.round(clocks)));
  found.set('peak_GBps', bytes / (hitSpacing(timing, banksInTurn(timing)) * tckNs));
}

/** The examples leave tDQSCK out, which the model's data come later by. */
function addLatencies(found: Found, grade: string, timing: DramTimingSpec, tckNs: number): void {
  const { nDQSCK } = gradeTimes(grade);
  const data = Math.round(oneBurst(timing).clocks);
  const latencies = readLatencies(timing);
  for (const [i, name] of ['hit', 'closed', 'conflict'].entries()) {
    const last = latencies[i]! - nDQSCK;
    found.set(`${name}_last_ck`, last).set(`${name}_last_ns`, last * tckNs);
    found.set(`${name}_first_ck`, last - data).set(`${name}_first_ns`, (last - data) * tckNs);
  }
}

/**
 * Ceilings of reads of one burst per activate. Rates worked from times in ns may differ by a clock of the period, since
 * the model rounds times to clocks (tRC of LPDDR2 is the sum of two that are rounded).
 */
function addActivates(found: Found, timing: DramTimingSpec, tckNs: number): void {
  const { bytes, clocks } = oneBurst(timing);
  const data = Math.round(clocks);
  const share = (used: number, of: number): number => Math.min(100, (100 * used) / of);
  const row = rowPeriod(timing, 1);
  const { second, fifth } = activateSpacing(timing);
  found.set('eff_one_bank_pct', share(data, row));
  found.set('eff_tRRD_S_pct', share(data, second));
  found.set('eff_tFAW_pct', share(4 * data, fifth));
  found.set('eff_random_pct', 100 * randomShare(timing));
  // with the rules between banks out of the way, all banks go at the pace of one
  found.set('eff_all_banks_pct', 100 * randomShare({ ...timing, nRRD_S: 1, nRRD_L: 1, nFAW: 1 }));
  const within = (value: number, period: number): [number, number] => [value, value / (period - 1)];
  found.set('one_bank_GBps', within(bytes / (row * tckNs), row));
  const window = Math.min(bytes / (data * tckNs), (4 * bytes) / (fifth * tckNs));
  found.set('tFAW_GBps', within(window, fifth));
  found.set('tFAW_Mact_per_s', within(4000 / (fifth * tckNs), fifth));
}

function addTurnarounds(found: Found, timing: DramTimingSpec): void {
  const { toWrite, toRead, toReadElsewhere } = turnarounds(timing);
  const data = timing.burstLength / 2;
  found.set('rd_to_wr_ck', toWrite).set('wr_to_rd_ck', toRead).set('wr_to_rd_other_group_ck', toReadElsewhere);
  found.set('rd_to_wr_bus_gap_ck', toWrite + timing.nCWL - timing.nCL - data);
  found.set('wr_to_rd_bus_gap_ck', toRead + timing.nCL - timing.nCWL - data);
  for (const k of [1, 4, 8, 16]) found.set(`rw_mix_eff_pct_k${k}`, (100 * 2 * k * data) / mixPeriod(timing, k));
}

function addStreams(found: Found, timing: DramTimingSpec): void {
  const data = timing.burstLength / 2;
  for (const n of [1, 2, 4, 8, 16]) {
    const period = rowPeriod(timing, n);
    found.set(`closed_page_period_ck_n${n}`, period).set(`closed_page_eff_pct_n${n}`, (100 * n * data) / period);
  }
  found.set('write_to_precharge_ck', writeToPrecharge(timing));
  found.set('write_row_cycle_ck', rowPeriod(timing, 1, true));
}

/** A refresh lasts whole clocks, and begins at one. */
function addRefresh(found: Found, grade: string, timing: DramTimingSpec): void {
  const clockPercent = (100 * timing.tckNumerator) / timing.tckDenominator / timing.tREFIps;
  for (const { quantity, gbit } of densities(grade)) {
    const device = timingOf(grade, { busBytes: timing.busBytes, densityGbit: gbit, overrides: new Map() });
    found.set(quantity, [refreshPercent(device), clockPercent]);
  }
}

function densities(grade: string): { quantity: string; gbit: number }[] {
  return EXAMPLES.filter((row) => row.get('row_id') === grade).flatMap((row) => {
    const quantity = row.get('quantity')!;
    const gbit = /^refresh_pct_(\d+)Gb$/.exec(quantity)?.[1];
    return gbit === undefined ? [] : [{ quantity, gbit: Number(gbit) }];
  });
}
