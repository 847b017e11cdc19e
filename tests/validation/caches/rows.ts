import type { Replacement } from '../../../src/scenario/scenario.js';
import type { Comparison } from '../outside-check.js';
import { type ReferenceRow, referenceTable } from '../reference-table.js';
import type { Place, Shape } from './one-cache.js';
import { sourceOf } from './sources.js';

/** The reference table of caches: one number a row. */
export const ROWS: readonly ReferenceRow[] = referenceTable(new URL('data/cache.csv', import.meta.url));

export const PLACES: readonly Place[] = ['L1', 'L2'];

const RULES: Readonly<Record<string, Replacement>> = {
  lru: 'lru',
  fifo: 'fifo',
  plru: 'tree_plru',
  random: 'random',
};

/** The replacement rule of a row; one that holds for any is tried with LRU. */
export const ruleOf = (row: ReferenceRow): Replacement => RULES[row.text('policy')] ?? 'lru';

/** A number among the parameters of a row. */
export function given(row: ReferenceRow, name: string): number {
  const text = row.parameter('params', name);
  if (text === null) throw new RangeError(`${keyOf(row)}: no ${name}`);
  return Number(text);
}

/** What tells a row from all others. */
export function keyOf(row: ReferenceRow): string {
  const capacity = row.text('kind') === 'anomaly' ? ` capacity ${row.parameter('params', 'capacity')}` : '';
  return `${row.text('cache_id')}${capacity} ${row.text('policy')} ${row.text('metric')}`;
}

/** A check of a row that is yet to be worked out: planned apart, so that a test can see that no row is left out. */
export interface Planned {
  readonly key: string;
  run(): Comparison[];
}

/** The comparison of a row with what a cache at some place did. */
export function comparison(row: ReferenceRow, place: Place, unit: string, measured: number): Comparison {
  const check = `${keyOf(row)}, ${place}`;
  return { check, source: sourceOf(row.text('source')), unit, expected: row.number('value'), measured };
}

/** One set with so many ways of lines of 64 bytes. */
export const oneSet = (ways: number, replacement: Replacement): Shape => ({
  sets: 1,
  ways,
  replacement,
  lineBytes: 64,
});

export const countHits = (hits: readonly boolean[]): number => hits.filter(Boolean).length;
