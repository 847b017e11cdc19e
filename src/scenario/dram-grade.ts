import { readFileSync } from 'node:fs';
import { csvRows } from './csv-rows.js';
import type { DramTimingSpec } from './scenario.js';
import { Shipped } from './shipped.js';
import { SHIPPED_DATA } from './shipped-data.js';

export type DramStandard = DramTimingSpec['standard'];

/** A speed grade, or the lack of one, with what the author stated in its place. */
export interface DramInputs {
  grade: string | null;
  standard: DramStandard;
  /** Cells of the grade's row; empty without a grade. */
  row: ReadonlyMap<string, string>;
  /** Times (`tRCD`) in picoseconds, the same in clocks (`nRCD`), everything else in clocks or counts. */
  overrides: ReadonlyMap<string, number>;
}

/** Names that an override may have, with the column that a grade holds the value in (null: not in the table). */
const COLUMNS: ReadonlyMap<string, string | null> = new Map([
  ['tCK', null],
  ['CL', 'CL_ck'],
  ['CWL', 'CWL_ck'],
  ...timeColumns(
    'tRCD',
    'tRP',
    'tRPab',
    'tRAS',
    'tRC',
    'tRRD_S',
    'tRRD_L',
    'tFAW',
    'tCCD_L',
    'tWR',
    'tWTR_S',
    'tWTR_L',
  ),
  ...timeColumns('tRTP', 'tREFI'),
  ['tCCD_S', null],
  ['tRFC', null],
  ['tRFCpb', null],
  ['tDQSCK', 'tDQSCK_max_ps'],
  ['burst_length', 'burst_length'],
  ['banks', 'banks'],
  ['bank_groups', 'bank_groups'],
  ['page_bytes', 'page_size_bytes'],
  ['device_bits', 'device_width_bits'],
  ['rank_gap', null],
  ['activate_clocks', null],
  ['column_clocks', null],
  ['write_preamble', null],
]);

/** Times that have no meaning in clocks here. */
const PERIODS: ReadonlySet<string> = new Set(['tCK', 'tREFI']);

/** Values that may be nothing at all. */
const ZERO_ALLOWED: ReadonlySet<string> = new Set(['tRFCpb', 'tDQSCK', 'rank_gap']);

/** Names that an override of DRAM timing may have; most times may also be stated in clocks, as `nRCD` for `tRCD`. */
export function overrideNames(): string[] {
  return [...COLUMNS.keys()];
}

type GradeRows = readonly ReadonlyMap<string, string>[];

const rowsRead = new Shipped((): GradeRows => csvRows(readFileSync(new URL('dram-timing.csv', SHIPPED_DATA), 'utf8')));

/** The rows of the table of speed grades, each with its sources beside it. */
export function gradeRows(): GradeRows {
  return rowsRead.get();
}

/** @throws RangeError for a grade that the table lacks, or an override that has no such name or value */
export function readInputs(grade: string | null, overrides: ReadonlyMap<string, number>): DramInputs {
  for (const [name, value] of overrides) checkOverride(name, value);
  if (grade === null) return { grade, standard: 'custom', row: new Map(), overrides };
  const rows = gradeRows();
  const row = rows.find((candidate) => candidate.get('row_id') === grade);
  if (row === undefined) {
    const names = rows.map((candidate) => candidate.get('row_id')!);
    throw new RangeError(`unknown speed grade '${grade}', must be one of ${names.join(', ')}`);
  }
  return { grade, standard: row.get('standard') as DramStandard, row, overrides };
}

/** The clocks that the author stated for a time, in its place. */
export function statedClocks(inputs: DramInputs, time: string): number | undefined {
  return time.startsWith('t') ? inputs.overrides.get(`n${time.slice(1)}`) : undefined;
}

/** What the author stated, else what the grade has; undefined where neither says. */
export function valueOf(inputs: DramInputs, name: string): number | undefined {
  const column = COLUMNS.get(name);
  return inputs.overrides.get(name) ?? (column == null ? undefined : cell(inputs, column));
}

/** A number of the grade's row; undefined where the row has none. */
export function cell(inputs: DramInputs, column: string): number | undefined {
  const text = inputs.row.get(column) ?? '';
  return text === '' ? undefined : Number(text);
}

function timeColumns(...names: string[]): [string, string][] {
  return names.map((name) => [name, `${name}_ps`]);
}

function checkOverride(written: string, value: number): void {
  const inClocks = /^n[A-Z]/u.test(written) && !PERIODS.has(`t${written.slice(1)}`);
  const name = inClocks ? `t${written.slice(1)}` : written;
  if (!COLUMNS.has(name))
    throw new RangeError(`unknown DRAM timing '${written}', must be one of ${overrideNames().join(', ')}`);
  const low = ZERO_ALLOWED.has(name) ? value >= 0 : value > 0;
  if (!low || !Number.isFinite(value)) {
    throw new RangeError(`${written} must be ${ZERO_ALLOWED.has(name) ? 'at least' : 'above'} 0, got ${value}`);
  }
  if ((inClocks || !name.startsWith('t')) && !Number.isInteger(value))
    throw new RangeError(`${written} must be a whole number, got ${value}`);
}
