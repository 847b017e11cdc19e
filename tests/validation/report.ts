import CliTable from 'cli-table3';
import { stringify } from 'csv-stringify/sync';
import type { Area, OutsideCheck } from './outside-check.js';

const COLUMNS = [
  'check',
  'area',
  'source',
  'expected',
  'measured',
  'tolerance',
  'verdict',
  'unit',
  'relation',
] as const satisfies (keyof OutsideCheck)[];

/** Digits that a printed number keeps: enough to see a picosecond in a second. */
const DIGITS = 12;

/** The checks as CSV (RFC 4180), a row each. */
export function toCsv(checks: readonly OutsideCheck[]): string {
  const rows = checks.map((check) => COLUMNS.map((column) => shown(check[column])));
  return stringify([[...COLUMNS], ...rows], { record_delimiter: 'windows', escape_formulas: true });
}

/** A table of the areas, then every check that failed. */
export function summaryOf(areas: readonly Area[], checks: readonly OutsideCheck[]): string {
  const table = new CliTable({
    head: ['area', 'checks', 'failed', 'what is compared'],
    style: { head: [], border: [] },
    chars: { mid: '', 'left-mid': '', 'mid-mid': '', 'right-mid': '' },
  });
  for (const { name, title } of areas) {
    const own = checks.filter(({ area }) => area === name);
    table.push([name, own.length, own.filter(({ verdict }) => verdict === 'fail').length, title]);
  }
  const failures = checks.filter(({ verdict }) => verdict === 'fail').map((check) => describe(check));
  return [table.toString(), ...failures].join('\n');
}

/** A failed check in a line. */
export function describe({ area, check, measured, expected, tolerance, unit, relation, source }: OutsideCheck): string {
  const limit = `${relation.replace('_', ' ')} ${shown(expected)} (tolerance ${shown(tolerance)})`;
  return `FAILED ${area}: ${check}: ${shown(measured)} ${unit}, must be ${limit}; ${source}`;
}

function shown(value: string | number): string | number {
  return typeof value === 'number' && Number.isFinite(value) ? Number(value.toPrecision(DIGITS)) : value;
}
