import type { Comparison } from '../outside-check.js';
import { type ReferenceRow, referenceTable } from '../reference-table.js';
import { sourceOf } from './sources.js';

/** The reference table of bounds: one number a row. */
export const ROWS: readonly ReferenceRow[] = referenceTable(new URL('data/bounds.csv', import.meta.url));

/** The rows of a kind. */
export const rowsOf = (kind: string): ReferenceRow[] => ROWS.filter((row) => row.text('kind') === kind);

/** What tells a row from all others. */
export function keyOf(row: ReferenceRow): string {
  const ahead = row.parameter('params', 'own_requests_ahead');
  const behind = ahead === null ? '' : ` behind ${ahead}`;
  return `${row.text('bound_id')} ${row.text('subject')} ${row.text('metric')}${behind}`;
}

/** A parameter of a row: a whole number, a decimal or a fraction such as 1/4. */
export function given(row: ReferenceRow, name: string): number {
  const text = row.parameter('params', name);
  if (text === null) throw new RangeError(`${keyOf(row)}: no ${name}`);
  return fraction(text);
}

export function fraction(text: string): number {
  const [numerator, denominator = '1'] = text.split('/');
  return Number(numerator) / Number(denominator);
}

/** What was seen of a bounded quantity. */
export interface Seen {
  /** Where, if a row is tried in more than one place. */
  readonly where?: string;
  /** The most under any load, the adversarial one among them. */
  readonly most: number;
  /** Share of the bound that the adversarial load must reach. */
  readonly factor: number;
  /** By how much the bound may be passed, where it is about something smoother than whole beats. */
  readonly slack?: number;
}

/**
 * A bound is never passed, and what is seen comes within a factor of it, so that not passing it means something (but for a
 * bound of nothing, which is always reached).
 */
export function boundChecks(row: ReferenceRow, { where = '', most, factor, slack = 0 }: Seen): Comparison[] {
  const check = where === '' ? keyOf(row) : `${keyOf(row)}, ${where}`;
  const expected = row.number('value');
  const common = { source: sourceOf(row.text('source')), unit: row.text('unit'), measured: most };
  const never: Comparison = {
    ...common,
    check: `${check}: never passed`,
    expected,
    tolerance: slack,
    relation: 'at_most',
  };
  if (expected === 0) return [never];
  return [
    never,
    { ...common, check: `${check}: comes within ${factor}`, expected: factor * expected, relation: 'at_least' },
  ];
}

/** A rate that is guaranteed: over a long time it is had, within the slack of its ends, and no more than that either. */
export function rateChecks(row: ReferenceRow, seen: number, slack: number): Comparison[] {
  const common = { source: sourceOf(row.text('source')), unit: row.text('unit'), measured: seen, tolerance: slack };
  const expected = row.number('value');
  return [
    { ...common, check: `${keyOf(row)}: had`, expected, relation: 'at_least' },
    { ...common, check: `${keyOf(row)}: and no more`, expected, relation: 'at_most' },
  ];
}

/** The largest of some numbers; 0 of none. */
export const largest = (values: Iterable<number>): number => {
  let most = 0;
  for (const value of values) if (value > most) most = value;
  return most;
};
