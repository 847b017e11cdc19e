import { readFileSync } from 'node:fs';
import { csvRows } from '../../src/scenario/csv-rows.js';

/** A row of a table of reference numbers; a cell that is asked for must be there. */
export class ReferenceRow {
  constructor(private readonly cells: ReadonlyMap<string, string>) {}

  text(column: string): string {
    const cell = this.cells.get(column);
    if (cell === undefined) throw new RangeError(`reference table: no column ${column}`);
    return cell;
  }

  /** A number, also in hexadecimal with 0x. */
  number(column: string): number {
    const text = this.text(column);
    const value = Number(text);
    if (text === '' || !Number.isFinite(value))
      throw new RangeError(`reference table: ${column} is no number: ${text}`);
    return value;
  }

  /** A value of a cell such as `sets=4;ways=2`; null where it does not name it. */
  parameter(column: string, name: string): string | null {
    const part = this.text(column)
      .split(';')
      .find((one) => one.startsWith(`${name}=`));
    return part?.slice(name.length + 1) ?? null;
  }
}

/** The rows of a CSV file of reference numbers. */
export function referenceTable(file: URL): ReferenceRow[] {
  return csvRows(readFileSync(file, 'utf8')).map((cells) => new ReferenceRow(cells));
}

/** Rows that belong together, by the text in one column, in order of their first. */
export function rowsBy(rows: readonly ReferenceRow[], column: string): Map<string, ReferenceRow[]> {
  const groups = new Map<string, ReferenceRow[]>();
  for (const row of rows) {
    const key = row.text(column);
    groups.set(key, [...(groups.get(key) ?? []), row]);
  }
  return groups;
}
