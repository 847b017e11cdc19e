import { readFileSync } from 'node:fs';
import { csvRows } from '../../../src/scenario/csv-rows.js';

/** What the rule table needs to know of a device, in clocks unless said otherwise. */
export interface RuleTimes {
  readonly standard: string;
  readonly burstLength: number;
  readonly nCL: number;
  readonly nCWL: number;
  /** Read data comes so many clocks after CL (LPDDR). */
  readonly nDQSCK: number;
  readonly nRCD: number;
  readonly nRP: number;
  readonly nRPab: number;
  readonly nRAS: number;
  readonly nRC: number;
  readonly nRRD_S: number;
  readonly nRRD_L: number;
  readonly nFAW: number;
  readonly nCCD_S: number;
  readonly nCCD_L: number;
  readonly nWR: number;
  /** Write recovery that an auto-precharge takes. */
  readonly nWRauto: number;
  readonly nWTR_S: number;
  readonly nWTR_L: number;
  readonly nRTP: number;
  readonly nRFC: number;
  /** 0 where one bank cannot be refreshed alone. */
  readonly nRFCpb: number;
  /** Idle clocks between data of two ranks: common practice, no source. */
  readonly nRankGap: number;
  readonly activateClocks: number;
  readonly columnClocks: number;
}

/** A grade's device with what else the checks need. */
export interface GradeTimes extends RuleTimes {
  readonly tckPs: number;
  readonly tREFIps: number;
  readonly banks: number;
  readonly bankGroups: number;
}

const TABLE = new URL('../../../src/scenario/data/dram-timing.csv', import.meta.url);

/** DDR4 drops what is below about 2.6 % of a clock (the notes of the table). */
const DDR4_SLIVER = 0.026;
/** Periods are printed to a few digits of a picosecond. */
const PRINTED = 1e-5;

/**
 * What LPDDR4 devices take for an auto-precharge is a mode register's value for the rate, which is one clock above tWR at
 * both (the notes of the table: nWR = 30 at 3200, 40 at 4266).
 */
const AUTO_RECOVERY: ReadonlyMap<string, number> = new Map([
  ['LPDDR4-3200-x16ch', 30],
  ['LPDDR4X-4266-x16ch', 40],
]);

/**
 * A speed grade's rule times, from the table of data-sheet values alone: its derived clock counts where it has them, else
 * its times rounded up. Nothing here is shared with the reader that the simulator uses.
 *
 * @param densityGbit of one device; null takes 4 Gbit where there is one, else the largest
 */
export function gradeTimes(grade: string, densityGbit: number | null = null): GradeTimes {
  const row = csvRows(readFileSync(TABLE, 'utf8')).find((candidate) => candidate.get('row_id') === grade);
  if (row === undefined) throw new Error(`no speed grade ${grade}`);
  const text = (column: string): string => row.get(column)!;
  const number = (column: string): number => (text(column) === '' ? 0 : Number(text(column)));
  const or = (column: string, instead: string): number => number(text(column) === '' ? instead : column);
  const standard = text('standard');
  const tckPs = number('tCK_exact_ps');
  const sliver = standard === 'DDR4' ? DDR4_SLIVER : 0;
  const clocks = (column: string): number => Math.ceil(number(column) / tckPs - sliver - PRINTED);
  const gbit = densityGbit ?? [4, 8, 2, 1].find((size) => text(`tRFC_${size}Gb_ps`) !== '');
  const slow = standard.startsWith('LPDDR4') ? 4 : 1;
  return {
    standard,
    tckPs,
    tREFIps: number('tREFI_ps'),
    banks: number('banks'),
    bankGroups: number('bank_groups'),
    burstLength: number('burst_length'),
    nCL: number('CL_ck'),
    nCWL: number('CWL_ck'),
    nDQSCK: clocks('tDQSCK_max_ps'),
    nRCD: number('nRCD_ck'),
    nRP: number('nRP_ck'),
    nRPab: text('tRPab_ps') === '' ? number('nRP_ck') : clocks('tRPab_ps'),
    nRAS: number('d_nRAS_ck'),
    nRC: number('d_nRC_ck'),
    nRRD_S: number('d_nRRD_S_ck'),
    nRRD_L: or('d_nRRD_L_ck', 'd_nRRD_S_ck'),
    nFAW: number('d_nFAW_ck'),
    nCCD_S: number('tCCD_S_ck'),
    nCCD_L: or('tCCD_L_ck', 'tCCD_S_ck'),
    nWR: number('d_nWR_ck'),
    nWRauto: AUTO_RECOVERY.get(grade) ?? number('d_nWR_ck'),
    nWTR_S: number('d_nWTR_S_ck'),
    nWTR_L: or('d_nWTR_L_ck', 'd_nWTR_S_ck'),
    nRTP: number('d_nRTP_ck'),
    nRFC: clocks(`tRFC_${gbit}Gb_ps`),
    nRFCpb: clocks(`tRFCpb_${gbit}Gb_ps`),
    nRankGap: 2,
    activateClocks: slow,
    columnClocks: slow,
  };
}
