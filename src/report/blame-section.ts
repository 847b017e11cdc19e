/** Who is waited for: a matrix of those who wait and those they wait for. */
import { type Facts, pooledOf } from './facts.js';
import { nsText, shareText, shortNumber } from './figures.js';
import { markup, type Markup } from './html.js';
import { grouped, numberIn, type SheetRow, textIn } from './sheet.js';

/** Culprits that are no masters, first. */
const OWN = ['(itself)', '(refresh)'];

export function blameSection(facts: Facts): Markup | null {
  const rows = pooledOf(facts, 'blame.csv');
  if (rows.length === 0) return null;
  const culprits = culpritsOf(rows);
  const matrices = facts.looks.flatMap(({ name }) => {
    const own = rows.filter((row) => textIn(row, 'placement') === name);
    return own.length === 0 ? [] : [matrix(name, own, culprits)];
  });
  const sampled = rows.some((row) => (numberIn(row, 'charged_share') ?? 1) < 1);
  return markup`<p>
      A row waits for a column: the mean wait in ns of each burst, and where it is spent most. The darker a cell, the
      larger its part of the row. <i>Itself</i> is a path's own earlier bursts, limits and clock edges.
      ${sampled && 'Of a path with many bursts a sample was charged; blame.csv tells which share.'}
    </p>
    ${matrices}`;
}

function culpritsOf(rows: readonly SheetRow[]): string[] {
  const names = [...new Set(rows.map((row) => textIn(row, 'culprit')))];
  return [...OWN.filter((name) => names.includes(name)), ...names.filter((name) => !OWN.includes(name))];
}

function matrix(placement: string, rows: readonly SheetRow[], culprits: readonly string[]): Markup {
  const lines = [...grouped(rows, (row) => textIn(row, 'victim'))].map(([victim, own]) => {
    const total = waitOf(own);
    const cells = culprits.map((culprit) =>
      cell(
        own.filter((row) => textIn(row, 'culprit') === culprit),
        total,
      ),
    );
    return markup`<tr>
      <th scope="row">${victim}</th>
      <td class="sum">${shortNumber(total)}</td>
      ${cells}
    </tr>`;
  });
  return markup`<div
    class="scroll"
    tabindex="0"
    role="group"
    aria-label="who waits for whom in ${placement}, scrolls sideways"
  >
    <table class="blame">
      <caption>
        ${placement}: mean wait of a burst, in ns
      </caption>
      <thead>
        <tr>
          <th scope="col">who waits</th>
          <th scope="col">in all</th>
          ${culprits.map((name) => markup`<th scope="col">${breakable(spoken(name))}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${lines}
      </tbody>
    </table>
  </div>`;
}

/** A name that is broken behind an underscore, where it must be, and nowhere else. */
const breakable = (name: string): Markup[] => name.split(/(?<=_)/u).map((part) => markup`${part}<wbr />`);

const spoken = (culprit: string): string => culprit.replace(/^\((.*)\)$/u, '$1');

function cell(rows: readonly SheetRow[], total: number): Markup {
  const wait = waitOf(rows);
  if (wait === 0 || total === 0) return markup`<td class="none"><span class="unseen">none</span></td>`;
  const places = rows.toSorted((a, b) => waitOf([b]) - waitOf([a]));
  const where = places.map((row) => `${textIn(row, 'element')} ${nsText(waitOf([row]))}`).join(', ');
  const share = wait / total;
  const main = share >= 0.05 ? markup`<small>${textIn(places[0]!, 'element')}</small>` : null;
  return markup`<td
    class="heat-${Math.min(5, Math.ceil(share * 5))}"
    title="${shareText(share)} of its waiting: ${where}"
  >
    ${shortNumber(wait)}${main}
  </td>`;
}

const waitOf = (rows: readonly SheetRow[]): number =>
  rows.reduce((sum, row) => sum + (numberIn(row, 'mean_ns_per_burst') ?? 0), 0);
