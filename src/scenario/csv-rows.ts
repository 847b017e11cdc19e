/**
 * Rows of a CSV text after RFC 4180, as maps from column name to cell.
 *
 * Strict: the first record names the columns, every record has as many cells, a quote stands only around a whole cell.
 *
 * @throws RangeError naming the record (from 1, the header) that breaks the format
 */
export function csvRows(text: string): Map<string, string>[] {
  const [header, ...records] = csvRecords(text);
  if (header === undefined) throw new RangeError('the CSV text is empty');
  if (new Set(header).size !== header.length) throw new RangeError('a CSV column name appears twice');
  return records.map((cells, index) => {
    if (cells.length !== header.length) {
      throw new RangeError(`CSV record ${index + 2} must have ${header.length} cells, got ${cells.length}`);
    }
    return new Map(header.map((name, column) => [name, cells[column] ?? '']));
  });
}

// a quoted cell (doubled quotes inside) or a bare one, then what ends it
const CELL = /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r?\n|$)/uy;

function csvRecords(text: string): string[][] {
  const records: string[][] = [];
  const cell = new RegExp(CELL);
  let cells: string[] = [];
  // a cell is still due after a comma, even at the end of the text
  while (cell.lastIndex < text.length || cells.length > 0) {
    const match = cell.exec(text);
    if (match === null) throw new RangeError(`CSV record ${records.length + 1} has a misplaced quote or line end`);
    cells.push(match[1]?.replaceAll('""', '"') ?? match[2] ?? '');
    if (match[3] === ',') continue;
    records.push(cells);
    cells = [];
  }
  return records;
}
