/** Columns of the tables that hold verdicts: their numbers are in the unit of their row. */
import type { MetricSpec } from '../../scenario/scenario.js';
import { BASE, type Table, column } from './column.js';
import type { BudgetRow, ComparisonRow, SensitivityRow } from './rows.js';
import { subjectName } from '../subject.js';

/** How a quantity that may be of several kinds is printed, by what it is: its unit, and the canonical units in one. */
export const PRINTED_UNITS = {
  latency: { unit: 'ns', size: 1e3 },
  bandwidth: { unit: 'MB/s', size: 1e6 },
  utilisation: { unit: 'share', size: 1 },
  task: { unit: 'us', size: 1e6 },
} as const;

/** What a column `unit` can say, for the text that describes it. */
export const UNITS = Object.values(PRINTED_UNITS)
  .map(({ unit }) => unit)
  .join(', ');
export const UNITS_MEANING = `${UNITS}: of the numbers of this row.`;

/** A value in the unit of its kind; an empty cell stays empty. */
export function inUnitOf(kind: keyof typeof PRINTED_UNITS, value: number | null): number | null {
  return value === null ? null : value / PRINTED_UNITS[kind].size;
}

/** `none in 4200, misses in at most 25.9 % of runs`, or the verdict as it is. */
export function verdictText({ verdict, none }: Pick<BudgetRow, 'verdict' | 'none'>): string | null {
  if (none === null) return verdict;
  return `none in ${none.samples}, misses in at most ${(100 * none.share).toFixed(1)} % of runs`;
}

export const BUDGETS: Table<BudgetRow> = {
  file: 'budgets.csv',
  rowIs: 'a budget',
  columns: [
    ...BASE,
    column('text', 'budget', 'Name of the budget.', (row) => row.budget),
    column('text', 'level', 'Of a latency: burst, port or transfer; of a task: task.', (row) => row.level),
    column('number', 'limit', 'The limit, in the unit of this row.', (row) => inUnitOf(row.spec.kind, row.limit)),
    column('number', 'measured', 'What was measured; empty where a percentile rests on too few samples.', (row) => {
      return inUnitOf(row.spec.kind, row.measured);
    }),
    column('text', 'unit', UNITS_MEANING, (row) => PRINTED_UNITS[row.spec.kind].unit),
    column('share', 'margin_share', 'Distance to the limit over the limit; below zero outside the budget.', (row) => {
      return row.marginShare;
    }),
    column(
      'text',
      'verdict',
      'On the pooled row: met or missed where a one-sided bound at 95 % says so, else undecided; `none in n` and the share of runs that may hold a miss where none is allowed and none was seen.',
      verdictText,
    ),
  ],
};

/** `camera write burst p99_ns`: what, at which level, and the unit of its numbers. */
export function metricName(metric: MetricSpec): string {
  const name = subjectName(metric);
  if (metric.kind === 'utilisation') return `${name} utilisation`;
  if (metric.kind === 'bandwidth') return `${name} bandwidth_mb_per_s`;
  if (metric.kind === 'task') return `${name} ${percentileName(metric.percentile)}_us`;
  return `${name} ${metric.level} ${percentileName(metric.percentile)}_ns`;
}

/** `p99_9`; `mean` where there is none. */
export function percentileName(percentile: number | null): string {
  return percentile === null ? 'mean' : `p${String(Math.round(percentile * 1e6) / 1e4).replace('.', '_')}`;
}

const metricColumn = (name: string, meaning: string, read: (row: ComparisonRow) => number | null) =>
  column<ComparisonRow>('number', name, meaning, (row) => inUnitOf(row.metric.kind, read(row)));

export const COMPARISON: Table<ComparisonRow> = {
  file: 'comparison.csv',
  rowIs: 'a metric of two placements',
  columns: [
    ...BASE,
    column('text', 'metric', 'What is compared, with the unit of its numbers.', (row) => metricName(row.metric)),
    column('text', 'baseline', 'The placement that is compared with.', (row) => row.baseline),
    column('text', 'variant', 'The placement that is compared.', (row) => row.variant),
    metricColumn('baseline_value', 'Value in the baseline; empty where it means nothing.', (row) => row.baselineValue),
    metricColumn('variant_value', 'Value in the variant.', (row) => row.variantValue),
    metricColumn('difference', 'Variant less baseline, on the same draws.', (row) => row.difference),
    metricColumn(
      'difference_ci95_low',
      'Lower end of its interval; those of all metrics and all looks hold together at 95 %.',
      (row) => row.low,
    ),
    metricColumn('difference_ci95_high', 'Upper end of its interval.', (row) => row.high),
    column('number', 'ratio', 'Variant over baseline.', ({ baselineValue, variantValue }) => {
      return baselineValue === null || variantValue === null || baselineValue === 0
        ? null
        : variantValue / baselineValue;
    }),
    column(
      'text',
      'verdict',
      'variant_better or baseline_better where the interval leaves out zero, else no_difference_shown; overloaded, too_few_samples or unfinished where nothing can be said.',
      (row) => row.verdict,
    ),
  ],
};

const sensitivityColumn = (name: string, meaning: string, read: (row: SensitivityRow) => number | null) =>
  column<SensitivityRow>('number', name, meaning, (row) => inUnitOf(row.spec.kind, read(row)));

export const SENSITIVITY: Table<SensitivityRow> = {
  file: 'sensitivity.csv',
  rowIs: 'an element that is made a tenth faster',
  columns: [
    ...BASE,
    column('text', 'element', 'Name of the element.', (row) => row.element),
    column('text', 'kind', 'What it is.', (row) => row.kind),
    column('share', 'utilisation', 'Share of the window in which it was busy, as it stands.', (row) => row.utilisation),
    column('text', 'budget', 'The budget of the placement with the smallest margin.', (row) => row.spec.name),
    column('text', 'level', 'Of a latency: burst, port or transfer; of a task: task.', (row) => row.level),
    sensitivityColumn('limit', 'Its limit, in the unit of this row.', (row) => row.limit),
    sensitivityColumn('measured', 'What is measured as it stands; empty where it means nothing.', (row) => row.now),
    sensitivityColumn(
      'measured_faster',
      'The same with the change: when the element is a tenth faster.',
      (row) => row.faster,
    ),
    sensitivityColumn('change', 'What the faster element changes, on the same draws.', (row) => row.change),
    sensitivityColumn(
      'change_ci95_low',
      'Lower end of its interval; those of all rows hold together at 95 %.',
      (row) => row.low,
    ),
    sensitivityColumn('change_ci95_high', 'Upper end of its interval.', (row) => row.high),
    column('text', 'unit', UNITS_MEANING, (row) => PRINTED_UNITS[row.spec.kind].unit),
    column(
      'text',
      'verdict',
      'better or worse where the interval leaves out zero, else no_change_shown; overloaded, too_few_samples or unfinished where nothing can be said.',
      (row) => row.verdict,
    ),
  ],
};
