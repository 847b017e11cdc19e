/** Columns of place.csv, of which some are named after what the search moves. */
import { BASE, type Column, type Table, column } from './column.js';
import type { PlaceFailure, PlaceRow } from './rows.js';
import { inUnitOf, metricName, PRINTED_UNITS, UNITS } from './verdict-columns.js';

export const PLACE_FILE = 'place.csv';

/** The table of a search that moves these groups and masters. */
export function placeTable(movers: readonly string[]): Table<PlaceRow> {
  return {
    file: PLACE_FILE,
    rowIs: 'a class of assignments',
    columns: [...BASE, ...RANK, ...movers.flatMap(moverColumns), ...VALUES, ...FAILURE],
  };
}

const RANK: readonly Column<PlaceRow>[] = [
  column('count', 'rank', 'From 1, the best; empty for what was ruled out.', (row) => row.rank),
  column(
    'text',
    'status',
    'best; runner_up, which came as far and meets its budgets; undecided_budget; worse, left out before by its goal; over_budget, left out before as it measured more than a budget allows, which may be chance; ruled out: budget_missed, over_capacity, impossible, no_value.',
    (row) => row.status,
  ),
];

const moverColumns = (mover: string): Column<PlaceRow>[] => [
  column('text', `attach_${mover}`, `Where ${mover} attaches.`, (row) => row.attachment.get(mover) ?? null),
  column('text', `alike_${mover}`, `The identical ports of which that is one.`, (row) =>
    (row.alike.get(mover) ?? []).join(' '),
  ),
];

const goalColumn = (name: string, meaning: string, read: (row: PlaceRow) => number | null): Column<PlaceRow> =>
  column('number', name, meaning, (row) => inUnitOf(row.goal.kind, read(row)));

const VALUES: readonly Column<PlaceRow>[] = [
  column('count', 'assignments', 'Assignments that this one stands for, by identical ports.', (row) => row.assignments),
  column('text', 'goal', 'What is ranked by, with the unit of its numbers.', (row) => metricName(row.goal)),
  goalColumn('value', 'The goal over all replications of this row; empty where it has no value.', (row) => row.value),
  goalColumn(
    'difference',
    'This row less the best one, over the replications that both have.',
    (row) => row.difference,
  ),
  goalColumn(
    'difference_ci95_low',
    'Lower end of its interval, for the last that were looked at; theirs hold together at 95 % for a number of replications that was fixed before.',
    (row) => row.low,
  ),
  goalColumn('difference_ci95_high', 'Upper end of its interval.', (row) => row.high),
  column('count', 'replications', 'Replications spent on this row.', (row) => row.replications),
];

/** Limit and measured value of what speaks against a row. */
interface Figures {
  readonly fails: string;
  readonly limit: number | null;
  readonly measured: number | null;
  readonly unit: string | null;
}

function figuresOf(failure: PlaceFailure | null): Figures | null {
  if (failure === null) return null;
  switch (failure.kind) {
    case 'budgets': {
      const [first] = failure.rows;
      const { kind } = first!.spec;
      return {
        fails: failure.rows.map(({ budget }) => budget).join(' '),
        limit: inUnitOf(kind, first!.limit),
        measured: inUnitOf(kind, first!.measured),
        unit: PRINTED_UNITS[kind].unit,
      };
    }
    case 'capacity': {
      const { unit, size } = PRINTED_UNITS.bandwidth;
      const [limit, measured] = [failure.capacityBytesPerS / size, failure.offeredBytesPerS / size];
      return { fails: `${failure.element} ${failure.channel}`, limit, measured, unit };
    }
    case 'reason':
      return { fails: failure.text, limit: null, measured: null, unit: null };
  }
}

const FAILURE: readonly Column<PlaceRow>[] = [
  column(
    'text',
    'fails',
    'The budgets that it misses or that are not decided, the channel that is asked for too much, or why it is not possible.',
    (row) => figuresOf(row.failure)?.fails ?? null,
  ),
  column('number', 'limit', 'Limit of the first of them, or capacity.', (row) => figuresOf(row.failure)?.limit ?? null),
  column('number', 'measured', 'What was measured against it, or is offered.', (row) => {
    return figuresOf(row.failure)?.measured ?? null;
  }),
  column('text', 'unit', `${UNITS}: of limit and measured.`, (row) => figuresOf(row.failure)?.unit ?? null),
  column('text', 'warnings', 'What its replications warned of, such as stale reads.', (row) => row.warnings.join('; ')),
];
