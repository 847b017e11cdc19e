/** Columns of the tables of a sweep: a key of the scenario has a column of its own. */
import { columnOf } from '../../scenario/axis.js';
import { BASE, type Table, column } from './column.js';
import type { CrossingRow, SweepRow } from './rows.js';
import { inUnitOf, metricName, PRINTED_UNITS, UNITS_MEANING } from './verdict-columns.js';

const printed = (row: SweepRow, value: number | null): number | null => inUnitOf(row.metric.kind, value);

/** The table of a sweep over these keys; quantities of a key are numbers in one unit, which its column names. */
export function sweepTable(keys: readonly string[], rows: readonly SweepRow[]): Table<SweepRow> {
  const keyColumns = keys.map((key, place) => {
    const values = [...new Set(rows.map((row) => row.keys[place]!))];
    const { name, cells } = columnOf(key, values);
    const cellOf = new Map(values.map((value, index) => [value, cells[index]!]));
    const isText = cells.some((cell) => typeof cell === 'string');
    return column<SweepRow>(isText ? 'text' : 'number', name, 'Value of the key of that name.', (row) => {
      const cell = cellOf.get(row.keys[place]!)!;
      return isText ? String(cell) : cell;
    });
  });
  return {
    file: 'sweep.csv',
    rowIs: 'a metric of a placement at a point of a sweep',
    columns: [
      ...BASE,
      ...keyColumns,
      column('text', 'metric', 'What is measured, with the unit of its numbers.', (row) => metricName(row.metric)),
      column('number', 'value', 'Over all replications; empty where the state says why.', (row) =>
        printed(row, row.value),
      ),
      column('number', 'value_ci95_low', 'Lower end of its interval at 95 %.', (row) => printed(row, row.low)),
      column('number', 'value_ci95_high', 'Upper end of its interval at 95 %.', (row) => printed(row, row.high)),
      column('text', 'unit', UNITS_MEANING, (row) => PRINTED_UNITS[row.metric.kind].unit),
      column(
        'text',
        'state',
        'measured; overloaded, where a latency means nothing; too_few_samples or no_samples.',
        (row) => row.state,
      ),
    ],
  };
}

/** The table of the values at which two placements change rank. */
export function crossingTable(rows: readonly CrossingRow[]): Table<CrossingRow> {
  const { name, cells } = columnOf(
    'key',
    rows.flatMap(({ low, high }) => [low, high]),
  );
  const suffix = name.slice('key'.length);
  return {
    file: 'crossing.csv',
    rowIs: 'a range of a key in which two placements change rank',
    columns: [
      ...BASE,
      column('text', 'key', 'The key that is varied.', (row) => row.key),
      column('text', 'metric', 'What the placements are ranked by.', (row) => metricName(row.metric)),
      column('text', 'baseline', 'One placement.', (row) => row.baseline),
      column('text', 'variant', 'The other.', (row) => row.variant),
      column('number', `low${suffix}`, 'Lower end of the range.', (row) => cells[2 * rows.indexOf(row)]!),
      column('number', `high${suffix}`, 'Upper end of the range.', (row) => cells[2 * rows.indexOf(row) + 1]!),
      column('text', 'better_below', 'Which is better at the lower end.', (row) => row.betterBelow),
      column('text', 'better_above', 'Which is better at the upper end.', (row) => row.betterAbove),
      column(
        'text',
        'verdict',
        'narrowed or undecided, where the rank changes in between; no_change where one is better at every point that shows a difference, nothing_shown where none does.',
        (row) => row.verdict,
      ),
    ],
  };
}
