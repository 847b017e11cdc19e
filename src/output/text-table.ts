import CliTable from 'cli-table3';
import { visibleLength, wrap } from './wrap.js';

/** Space between columns. */
const GAP = 2;

/** A text, or one with the colour that it gets once it is laid out. */
export type TextCell = string | { text: string; paint: (text: string) => string };

export interface TextColumn {
  head: string;
  align: 'left' | 'right';
  /** May its cells be broken over lines when the table would be too wide? */
  breaks: boolean;
}

/** A column of words, which may be broken. */
export const left = (head: string): TextColumn => ({ head, align: 'left', breaks: true });
/** A column of numbers. */
export const right = (head: string): TextColumn => ({ head, align: 'right', breaks: false });

const BLANK_CHARS = [
  'top',
  'top-mid',
  'top-left',
  'top-right',
  'bottom',
  'bottom-mid',
  'bottom-left',
  'bottom-right',
  'left',
  'left-mid',
  'mid',
  'mid-mid',
  'right',
  'right-mid',
  'middle',
] as const;

const NO_LINES = Object.fromEntries(BLANK_CHARS.map((name) => [name, '']));

/**
 * A table without rules: columns stand apart by spaces, numbers to the right. Where it would pass `width`, the columns
 * that may break are narrowed, the widest first, and their cells run over several lines; nothing is cut off.
 */
export function textTable(
  columns: readonly TextColumn[],
  rows: readonly (readonly TextCell[])[],
  width: number,
  paintHead: (text: string) => string = (text) => text,
): string {
  const widths = fit(
    columns,
    columns.map((column, c) => widest([column.head, ...rows.map((row) => textOf(row[c]!))])),
    width,
  );
  const table = new CliTable({
    chars: NO_LINES,
    style: { head: [], border: [], 'padding-left': 0, 'padding-right': GAP, compact: true },
    head: columns.map(({ head }, c) => lay({ text: head, paint: paintHead }, widths[c]!)),
    colWidths: widths.map((w) => w + GAP),
    colAligns: columns.map(({ align }) => align),
  });
  for (const row of rows) table.push(row.map((cell, c) => lay(cell, widths[c]!)));
  return table.toString().replaceAll(/ +$/gm, '');
}

const textOf = (cell: TextCell): string => (typeof cell === 'string' ? cell : cell.text);

/** A cell in lines of at most `width`; each line is painted by itself, so that no colour runs over a break. */
function lay(cell: TextCell, width: number): string {
  const lines = wrap(textOf(cell), width, '').flatMap((line) => chunks(line, width));
  return lines.map((line) => (typeof cell === 'string' ? line : cell.paint(line))).join('\n');
}

/** A word that is too long for its column, cut where the column ends. */
function chunks(line: string, width: number): string[] {
  const characters = Array.from(line);
  return Array.from({ length: Math.ceil(characters.length / width) }, (_, i) =>
    characters.slice(i * width, (i + 1) * width).join(''),
  );
}

/** Narrows breakable columns, the widest by one at a time, until all fit or none can give more. */
function fit(columns: readonly TextColumn[], natural: readonly number[], width: number): number[] {
  const widths = [...natural];
  const least = 8;
  let excess = widths.reduce((sum, w) => sum + w + GAP, -GAP) - width;
  for (; excess > 0; excess--) {
    let pick = -1;
    columns.forEach(({ breaks }, c) => {
      if (breaks && widths[c]! > least && (pick < 0 || widths[c]! > widths[pick]!)) pick = c;
    });
    if (pick < 0) break;
    widths[pick]!--;
  }
  return widths;
}

const widest = (cells: readonly string[]): number => Math.max(...cells.map(visibleLength));
