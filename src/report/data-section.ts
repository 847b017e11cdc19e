/** The tables of the folder, whole but for single replications: sortable, and each can be saved as CSV. */
import { TABLES } from '../measure/tables/columns.js';
import type { Facts } from './facts.js';
import { counted } from './figures.js';
import { markup, Markup } from './html.js';
import { pooledRows, type Sheet, type SheetRow, textIn } from './sheet.js';

/** Tables longer than this stand as text that the page's script saves: nobody reads so many rows on a page. */
const LONGEST = 500;

export function dataSection({ folder }: Facts): Markup | null {
  const sheets = [...folder.sheets.values()];
  if (sheets.length === 0) return null;
  return markup`<p>
      What the folder holds, over all replications; the rows of single replications are in the files themselves.
      <span class="for-script">A press on a column's name sorts by it.</span>
    </p>
    ${sheets.map(tableBox)}`;
}

function tableBox(sheet: Sheet): Markup {
  const rows = pooledRows(sheet);
  const shown = { ...sheet, columns: sheet.columns.filter((column) => column !== 'replication') };
  const about = Object.values(TABLES).find(({ file }) => file === sheet.file);
  const rowIs = about === undefined ? '' : `, each ${about.rowIs}`;
  const long = rows.length > LONGEST;
  return markup`<details class="data" id="table-${sheet.file.replace('.csv', '')}">
    <summary><b>${sheet.file}</b> <small>${counted(rows.length, 'row')}${rowIs}</small></summary>
    ${meanings(sheet)}${long ? longTable(shown, rows) : wholeTable(shown, rows)}
  </details>`;
}

interface Meaning {
  readonly name: string;
  readonly meaning: string;
  readonly unit: string;
}

const described = (file: string): readonly Meaning[] =>
  Object.values(TABLES).find((table) => table.file === file)?.columns ?? [];

function meanings({ file, columns }: Sheet): Markup | null {
  const known = described(file).filter(({ name }) => columns.includes(name));
  if (known.length === 0) return null;
  return markup`<details class="meanings">
    <summary>What the columns mean</summary>
    <dl>
      ${known.map(
        ({ name, meaning, unit }) =>
          markup`<dt>${name}</dt>
            <dd>${meaning}${unit !== '' && ` In ${unit}.`}</dd>`,
      )}
    </dl>
  </details>`;
}

function wholeTable({ file, columns }: Sheet, rows: readonly SheetRow[]): Markup {
  const titles = new Map(described(file).map(({ name, meaning }) => [name, meaning]));
  // a column is one of numbers where every filled cell is one
  const numeric = columns.map((column) => rows.every((row) => !Number.isNaN(Number(textIn(row, column)))));
  const heads = columns.map((column) => markup`<th scope="col" title="${titles.get(column) ?? column}">${column}</th>`);
  return markup`<div class="scroll" tabindex="0" role="group" aria-label="${file}, scrolls sideways">
    <table class="sortable raw" data-file="${file}">
      <caption class="unseen">
        ${file}
      </caption>
      <thead>
        <tr>
          ${heads}
        </tr>
      </thead>
      <tbody>
        ${rows.map(
          (row) =>
            markup`<tr>
              ${columns.map((column, i) => (numeric[i] ? markup`<td class="n">${textIn(row, column)}</td>` : markup`<td>${textIn(row, column)}</td>`))}
            </tr> `,
        )}
      </tbody>
    </table>
  </div>`;
}

/**
 * Lines of cells with tabs between, the first of each being how many cells are as in the line above: rows that stand in
 * order take little room.
 */
function longTable({ file, columns }: Sheet, rows: readonly SheetRow[]): Markup {
  const cells = rows.map((row) => columns.map((column) => textIn(row, column)));
  if (cells.some((row) => row.some((cell) => /[\t\r\n]/u.test(cell)))) return wholeTable({ file, columns, rows }, rows);
  const lines = cells.map((row, i) => {
    const alike = row.findIndex((cell, column) => cell !== cells[i - 1]?.[column]);
    const kept = alike < 0 ? row.length : alike;
    return [kept, ...row.slice(kept)].join('\t');
  });
  const drawn = DRAWN.includes(file) && ', and what is drawn above is drawn from it';
  const json = inScript(JSON.stringify({ file, columns, lines: lines.join('\n') }));
  return markup`<p>
      Too long to be read here: it lies in the folder${drawn}.
      <span class="for-script">It can be saved from here too.</span>
    </p><script type="application/json" class="long-table">${json}</script>`;
}

const DRAWN: readonly string[] = [TABLES.distribution.file, TABLES.timeline.file, TABLES.queues.file];

/** JSON that no browser takes for markup: it holds no `<`. */
export const inScript = (json: string): Markup =>
  new Markup(json.replaceAll('<', '\\u003c').replaceAll('\u2028', '\\u2028').replaceAll('\u2029', '\\u2029'));
