/** The budgets as a table, a column a placement, with how much of each limit is used. */
import { boundOf } from './answer.js';
import { type Facts, pooledOf } from './facts.js';
import { inUnit, shareText } from './figures.js';
import { markup, type Markup } from './html.js';
import { grouped, numberIn, type SheetRow, textIn } from './sheet.js';

/** A sign beside each word, so that colour carries nothing alone. */
const SIGNS: Readonly<Record<string, string>> = { met: '✓', missed: '✗', undecided: '?' };

export function budgetTable(facts: Facts): Markup | null {
  const rows = pooledOf(facts, 'budgets.csv');
  if (rows.length === 0) return null;
  const placements = [...new Set(rows.map((row) => textIn(row, 'placement')))];
  return markup`<div class="scroll" tabindex="0" role="group" aria-label="budgets, scrolls sideways">
    <table class="budgets">
      <caption>
        Budgets
      </caption>
      <thead>
        <tr>
          <th scope="col">budget</th>
          ${placements.map((name) => markup`<th scope="col">${name}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${[...grouped(rows, (row) => textIn(row, 'budget'))].map(([budget, own]) => line(facts, budget, own, placements))}
      </tbody>
    </table>
  </div>`;
}

function line(facts: Facts, budget: string, rows: readonly SheetRow[], placements: readonly string[]): Markup {
  const [first] = rows;
  const of = facts.platforms.flatMap(({ budgets }) => budgets).find(({ name }) => name === budget);
  const limit = `${boundOf(first!, facts)} ${inUnit(numberIn(first!, 'limit'), textIn(first!, 'unit'))}`;
  const about = of === undefined ? limit : `${of.quantity} of ${of.subject}: ${limit}`;
  const cells = placements.map((placement) => {
    const row = rows.find((one) => textIn(one, 'placement') === placement);
    return markup`<td>${row === undefined ? '–' : fate(row)}</td>`;
  });
  return markup`<tr><th scope="row">${budget}<small>${about}</small></th>${cells}</tr>`;
}

function fate(row: SheetRow): Markup {
  const verdict = textIn(row, 'verdict');
  const margin = numberIn(row, 'margin_share');
  const spare = margin === null ? '' : margin >= 0 ? `${shareText(margin)} to spare` : `${shareText(-margin)} beyond`;
  return markup`<span class="verdict ${verdict in SIGNS ? verdict : 'other'}"
      >${SIGNS[verdict] ?? '·'} ${verdict || 'not decided'}</span
    >
    <b>${inUnit(numberIn(row, 'measured'), textIn(row, 'unit'))}</b>
    <small>${spare}</small>${margin !== null && room(margin)}`;
}

/** A bar of what is to spare: the whole of it is the limit. */
function room(margin: number): Markup {
  const width = Math.max(0, Math.min(1, margin)) * 100;
  return markup`<svg class="room" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true">
    <rect class="gauge" width="100" height="6" />
    <rect class="filled" x="${(100 - width).toFixed(1)}" width="${width.toFixed(1)}" height="6" />
  </svg>`;
}
