import { csvRows } from '../scenario/csv-rows.js';

/** A row of a table as its file has it: cells by column. */
export type SheetRow = ReadonlyMap<string, string>;

/** A table of a results folder. */
export interface Sheet {
  readonly file: string;
  readonly columns: readonly string[];
  readonly rows: readonly SheetRow[];
}

/**
 * Reads a table.
 *
 * @throws RangeError naming the record that breaks RFC 4180
 */
export function sheetOf(file: string, text: string): Sheet {
  // a mark that some spreadsheets put in front is no part of the first name
  const rows = csvRows(text.replace(/^\uFEFF/u, '')).map(
    (row) => new Map([...row].map(([name, cell]) => [name, unguarded(cell)])),
  );
  return { file, columns: [...(rows[0]?.keys() ?? [])], rows };
}

/** The apostrophe that keeps a spreadsheet from running a cell is not a part of it. */
const unguarded = (cell: string): string => (/^'[=+\-@\t\r]/u.test(cell) ? cell.slice(1) : cell);

/** A cell as text; empty where the table has no such column. */
export const textIn = (row: SheetRow, column: string): string => row.get(column) ?? '';

/** A cell as a number; null where it is empty or is none. */
export function numberIn(row: SheetRow, column: string): number | null {
  const text = row.get(column) ?? '';
  const value = Number(text);
  return text.trim() === '' || !Number.isFinite(value) ? null : value;
}

/** The rows over all replications; all rows of a table that has none such. */
export function pooledRows(sheet: Sheet | undefined): readonly SheetRow[] {
  const pooled = sheet?.rows.filter((row) => textIn(row, 'replication') === 'all') ?? [];
  return pooled.length > 0 ? pooled : (sheet?.rows ?? []);
}

/** Rows gathered by what `key` says of them, in order of first appearance. */
export function grouped<Row, Key>(rows: readonly Row[], key: (row: Row) => Key): Map<Key, Row[]> {
  const groups = new Map<Key, Row[]>();
  for (const row of rows) {
    const name = key(row);
    const group = groups.get(name);
    if (group === undefined) groups.set(name, [row]);
    else group.push(row);
  }
  return groups;
}
