import { stringify } from 'csv-stringify/sync';
import type { Cell, Table } from '../measure/tables/columns.js';
import { formatCell } from './format.js';

/**
 * A table as CSV text by RFC 4180: a header row, CRLF at the end of every record as the RFC has it, quotes where needed.
 * A cell that a spreadsheet would run as a formula (a name that begins with `=`, `+`, `-`, `@` or a control character)
 * gets a leading apostrophe; numbers never do. An empty cell has no value.
 */
export function toCsv<Row>(table: Table<Row>, rows: readonly Row[]): string {
  return stringified(table, rows, true);
}

/** Rows of a long table that become text together. */
const BATCH = 5_000;

/** The same text in parts, for a table that is too long to be held at once. */
export function* csvParts<Row>(table: Table<Row>, rows: Iterable<Row>): Generator<string> {
  yield stringified(table, [], true);
  let batch: Row[] = [];
  for (const row of rows) {
    batch.push(row);
    if (batch.length < BATCH) continue;
    yield stringified(table, batch, false);
    batch = [];
  }
  if (batch.length > 0) yield stringified(table, batch, false);
}

function stringified<Row>({ columns }: Table<Row>, rows: readonly Row[], header: boolean): string {
  const print = (cell: Cell, index: number, header: boolean): string =>
    header ? String(cell) : formatCell(columns[index]!.quantity, cell);
  return stringify(
    rows.map((row) => columns.map((column) => column.read(row))),
    {
      header,
      columns: columns.map(({ name }) => ({ key: name })),
      record_delimiter: 'windows',
      quote_record_delimiter: true,
      escape_formulas: true,
      cast: {
        // the cell stays a number until here: the escaping of formulas leaves the minus of numbers alone
        number: (cell, { index, header }) => print(cell, index, header),
        string: (cell, { index, header }) => print(cell, index, header),
        boolean: (cell) => (cell ? 'true' : 'false'),
      },
    },
  );
}
