/** What a column and a table are, and the columns that every table starts with. */
import type { RowBase } from './rows.js';

/**
 * What a cell holds before it is printed, and so how it is printed: `time` in ps (printed in ns), `rate` in bytes per
 * second (printed in MB/s), `share` from 0 to 1, `number` any, `count` whole, `text` as it is.
 */
export type Quantity = 'text' | 'count' | 'number' | 'share' | 'time' | 'rate';

export type Cell = string | number | null;

export interface Column<Row> {
  /** Header, with the unit as a suffix. */
  name: string;
  /** As printed; empty for text, counts and shares. */
  unit: string;
  /** One sentence, for the docs. */
  meaning: string;
  quantity: Quantity;
  read: (row: Row) => Cell;
}

export interface Table<Row> {
  file: string;
  /** What one row is. */
  rowIs: string;
  columns: readonly Column<Row>[];
}

const UNITS: Record<Quantity, string> = { text: '', count: '', number: '', share: '', time: 'ns', rate: 'MB/s' };

/** A column, in the unit that its quantity has unless another is named. */
export function column<Row>(
  quantity: Quantity,
  name: string,
  meaning: string,
  read: (row: Row) => Cell,
  unit = UNITS[quantity],
): Column<Row> {
  return { name, unit, meaning, quantity, read };
}

/** What every table starts with. */
export const BASE: readonly Column<RowBase>[] = [
  column('text', 'scenario', 'Name of the scenario.', (row) => row.scenario),
  column('text', 'placement', 'Name of the placement.', (row) => row.placement),
  column('text', 'replication', 'Number of the replication from 1, or `all` for the pooled row.', (row) =>
    String(row.replication),
  ),
];
