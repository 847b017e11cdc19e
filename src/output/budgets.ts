/** How budgets fare, for people: a table, and a sentence for each that is not decided. */
import { PRINTED_UNITS, verdictText } from '../measure/tables/verdict-columns.js';
import type { BudgetRow, BudgetVerdict } from '../measure/tables/rows.js';
import { isOfTime, subjectName } from '../measure/subject.js';
import { decimal, fixed, grouped, percent } from './format.js';
import { items } from './items.js';
import type { Look, Tone } from './look.js';
import { left, right, textTable } from './text-table.js';

const TONES: Record<BudgetVerdict, Tone> = { met: 'good', missed: 'bad', undecided: 'bad', none: 'faint' };

/** The budgets of all placements with their verdicts; empty where there are none. */
export function budgetText(rows: readonly BudgetRow[], options: Look): string {
  const pooled = rows.filter(({ replication }) => replication === 'all');
  if (pooled.length === 0) return '';
  const sentences = [...claims(pooled), ...budgetSentences(pooled)];
  return [options.paint('heading', 'Budgets'), table(pooled, options), ...items(sentences, options)].join('\n');
}

/** Why budgets are not decided, in sentences. */
export function budgetSentences(rows: readonly BudgetRow[]): string[] {
  return rows.flatMap(({ reason, budget, placement }) =>
    reason === null ? [] : [`budget ${budget} is undecided in placement ${placement}: ${reason}.`],
  );
}

/** What may be said of all budgets of a placement together. */
function claims(rows: readonly BudgetRow[]): string[] {
  const placements = new Set(rows.map(({ placement }) => placement));
  return [...placements].flatMap((placement) => {
    const own = rows.filter((row) => row.placement === placement);
    if (own.some(({ verdict }) => verdict !== 'met')) return [];
    return [`placement ${placement} meets all its budgets, a claim that errs at most once in 20.`];
  });
}

function table(rows: readonly BudgetRow[], { paint, width }: Look): string {
  const columns = [left('budget'), left('placement'), left('of'), right('limit'), right('measured'), right('margin')];
  const cells = rows.map((row) => [
    row.budget,
    row.placement,
    subjectOf(row),
    inUnit(row, row.limit),
    row.measured === null ? '-' : inUnit(row, row.measured),
    row.marginShare === null ? '-' : percent(row.marginShare),
    { text: verdictText(row) ?? '', paint: (text: string) => paint(TONES[row.verdict!], text) },
  ]);
  return textTable([...columns, left('verdict')], cells, width, (text) => paint('faint', text));
}

/** What a budget is about, in words. */
export function subjectOf({ spec }: Pick<BudgetRow, 'spec'>): string {
  const name = subjectName(spec);
  if (!isOfTime(spec)) return `${name} ${spec.kind}`;
  const which = spec.percentile === 1 ? 'largest' : `p${decimal(100 * spec.percentile, 4)}`;
  return `${name} ${spec.level} ${which}`;
}

/** A value in the unit of its budget. */
export function inUnit({ spec }: Pick<BudgetRow, 'spec'>, value: number): string {
  if (spec.kind === 'utilisation') return percent(value);
  const { unit, size } = PRINTED_UNITS[spec.kind];
  const printed = value / size;
  return `${Math.abs(printed) < 100 ? fixed(printed, 1) : grouped(printed)} ${unit}`;
}
