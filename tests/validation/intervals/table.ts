import CliTable from 'cli-table3';
import { stringify } from 'csv-stringify/sync';
import { type Compared, PAIRS } from './pair.js';
import { SOURCE } from './queue.js';
import { holds, type Said } from './study.js';
import type { Extent, Limits, Outcome } from './tasks.js';

/** A share of the studies that must lie between two limits. */
export interface CoverageRow {
  readonly check: string;
  readonly source: string;
  readonly studies: number;
  /** Studies in which it is so. */
  readonly held: number;
  readonly share: number;
  readonly at_least: number;
  readonly at_most: number;
  readonly verdict: 'pass' | 'fail';
}

const COLUMNS = ['check', 'source', 'studies', 'held', 'share', 'at_least', 'at_most', 'verdict'] as const;

/** Judges all outcomes of an extent. */
export function tableOf(outcomes: readonly Outcome[], extent: Extent): CoverageRow[] {
  const studies = outcomes.flatMap((one) => ('said' in one ? [one.said] : []));
  const of = (pair: string): Compared[] =>
    outcomes.flatMap((one) =>
      'compared' in one && one.task.kind === 'pair' && one.task.pair === pair ? [one.compared] : [],
    );
  return [
    intervalRow('mean', studies, extent.mean),
    intervalRow('p99', studies, extent.p99),
    ...PAIRS.flatMap((pair) => {
      const all = of(pair.name);
      const name = `comparison, ${pair.name}`;
      const truthful = all.filter(({ wrong }) => !wrong).length;
      const rows = [row(`${name}: all verdicts and intervals true`, all.length, truthful, [0.95, 1])];
      // an interval without end would always be true
      const shown = all.filter((one) => one.shown).length;
      return pair.meanPs === 0 ? rows : [...rows, row(`${name}: both differences shown`, all.length, shown, [0.95, 1])];
    }),
  ];
}

function intervalRow(what: 'mean' | 'p99', studies: readonly Said[], limits: Limits): CoverageRow {
  const held = studies.filter((said) => holds(said, what)).length;
  return row(`M/M/1 at load 0.8: 95 % interval of the ${what} holds the true one`, studies.length, held, limits);
}

function row(check: string, studies: number, held: number, [atLeast, atMost]: Limits): CoverageRow {
  const share = held / studies;
  const verdict = share >= atLeast && share <= atMost ? 'pass' : 'fail';
  return { check, source: SOURCE, studies, held, share, at_least: atLeast, at_most: atMost, verdict };
}

/** RFC 4180, a row a check. */
export function toCsv(rows: readonly CoverageRow[]): string {
  const cells = rows.map((one) => COLUMNS.map((column) => one[column]));
  return stringify([[...COLUMNS], ...cells], { record_delimiter: 'windows', escape_formulas: true });
}

/** The same for a terminal. */
export function toText(rows: readonly CoverageRow[]): string {
  const table = new CliTable({
    head: ['check', 'studies', 'share', 'limits', 'verdict'],
    style: { head: [], border: [] },
    chars: { mid: '', 'left-mid': '', 'mid-mid': '', 'right-mid': '' },
  });
  const percent = (share: number): string => `${(100 * share).toFixed(2)} %`;
  for (const { check, studies, share, at_least, at_most, verdict } of rows) {
    table.push([check, studies, percent(share), `${percent(at_least)} to ${percent(at_most)}`, verdict]);
  }
  return table.toString();
}
