/** Who attaches where best: what a search for a placement found, the best first. */
import { type Facts, pooledOf } from './facts.js';
import { ATTACH, moversOf } from './answer.js';
import { inUnit, metricWords } from './figures.js';
import { cellMarkup, markup, type Markup } from './html.js';
import { numberIn, type SheetRow, textIn } from './sheet.js';

export function placeSection(facts: Facts): Markup | null {
  const rows = pooledOf(facts, 'place.csv');
  const [first] = rows;
  if (first === undefined) return null;
  const movers = moversOf(first);
  const { name, unit } = metricWords(textIn(first, 'goal'));
  const heads = ['rank', ...movers, name, 'more than the best', '95 % from', 'to', 'status', 'what speaks against it'];
  return markup`<p>Each line is an assignment, or a class of them by identical ports; ranked by ${name}.</p>
    <div class="scroll" tabindex="0" role="group" aria-label="assignments, scrolls sideways"><table class="sortable" data-file="assignments.csv"><caption>Assignments</caption>
      <thead><tr>${heads.map((head) => markup`<th scope="col">${head}</th>`)}</tr></thead>
      <tbody>${rows.map((row) => line(row, movers, unit))}</tbody></table></div>`;
}

function line(row: SheetRow, movers: readonly string[], unit: string): Markup {
  const values = ['value', 'difference', 'difference_ci95_low', 'difference_ci95_high'];
  const cells = [
    textIn(row, 'rank') || '–',
    ...movers.map((mover) => textIn(row, ATTACH + mover)),
    ...values.map((column) => inUnit(numberIn(row, column), unit)),
    textIn(row, 'status').replaceAll('_', ' '),
    textIn(row, 'fails').replaceAll('_', ' '),
  ];
  return markup`<tr>${cells.map(cellMarkup)}</tr>`;
}
