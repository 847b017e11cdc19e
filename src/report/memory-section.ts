/** What the DRAM and the caches did. */
import { type Drawing, broad } from './chart.js';
import { type Facts, pooledOf } from './facts.js';
import { counted, rateText, shareText } from './figures.js';
import { cellMarkup, markup, type Markup } from './html.js';
import { numberIn, type SheetRow, textIn } from './sheet.js';

export function memorySection(facts: Facts, drawing: Drawing): Markup | null {
  const channels = pooledOf(facts, 'memory.csv');
  const caches = pooledOf(facts, 'cache.csv');
  const parts = [dram(channels, drawing), cacheTable(caches)];
  return parts.every((part) => part === null) ? null : markup`${parts}`;
}

const ROWS = [
  ['row_hit_share', 'row open', 'var(--serve-d)', 'var(--on-serve)'],
  ['row_empty_share', 'bank closed', 'var(--serve-a)', 'var(--on-serve)'],
  ['row_conflict_share', 'other row open', 'url(#row-conflict)', 'var(--on-wait)'],
] as const;

function dram(channels: readonly SheetRow[], { plot, draw }: Drawing): Markup | null {
  const used = channels.filter((row) => (numberIn(row, 'column_accesses') ?? 0) > 0);
  if (used.length === 0) return null;
  const nameOf = (row: SheetRow) => `${textIn(row, 'placement')}: ${textIn(row, 'memory')} ${textIn(row, 'channel')}`;
  const pieces = used.flatMap((row) => {
    let from = 0;
    return ROWS.map(([column, words, fill, ink]) => {
      const share = numberIn(row, column) ?? 0;
      from += share;
      return { name: nameOf(row), words, fill, ink, from: from - share, to: from };
    });
  });
  type Piece = (typeof pieces)[number];
  const chart = draw(
    {
      width: 760,
      height: used.length * 34 + 12,
      marginLeft: 190,
      marginRight: 10,
      marginTop: 4,
      marginBottom: 4,
      style: { fontSize: '12.5px' },
      x: { domain: [0, 1], axis: null },
      y: { domain: used.map(nameOf), label: null, tickSize: 0, padding: 0.2 },
      marks: [
        plot.axisY({ tickSize: 0, label: null, fontWeight: 600 } as never),
        plot.barX(pieces, {
          x1: 'from',
          x2: 'to',
          y: 'name',
          fill: 'fill',
          stroke: 'var(--paper)',
          title: ({ name, words, from, to }: Piece) => `${name}: ${words} ${shareText(to - from)}`,
        }),
        ...ROWS.map(([, words, , ink]) =>
          plot.text(
            pieces.filter((piece) => piece.words === words && piece.to - piece.from > 0.28),
            {
              x: ({ from, to }: Piece) => (from + to) / 2,
              y: 'name',
              text: ({ from, to }: Piece) => `${words} ${shareText(to - from)}`,
              fill: ink,
              stroke: words === ROWS[2][1] ? 'var(--wait-paper)' : 'none',
              strokeWidth: 4,
            },
          ),
        ),
      ],
    },
    {
      says: 'What column accesses to the DRAM found: their row open, their bank closed, or another row open. The table below has the numbers.',
    },
  );
  return markup`<h3>DRAM</h3>
    <svg width="0" height="0" class="defs" aria-hidden="true">
      <defs>
        <pattern id="row-conflict" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <rect width="7" height="7" fill="var(--wait-paper)" />
          <path d="M0 0V7" stroke="var(--wait-a)" stroke-width="5" />
        </pattern>
      </defs>
    </svg>
    ${broad(chart, 'What column accesses found: another row open costs a precharge and an activate.')}
    <div class="scroll" tabindex="0" role="group" aria-label="DRAM channels, scrolls sideways">
      <table class="sortable" data-file="dram.csv">
        <caption>
          DRAM channels
        </caption>
        <thead>
          <tr>
            ${[
              'placement',
              'channel',
              'read',
              'written',
              'of peak',
              'row open',
              'bank closed',
              'other row open',
              'refresh',
              'turnaround',
              'wasted beats',
            ].map((head) => markup`<th scope="col">${head}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${channels.map(channelLine)}
        </tbody>
      </table>
    </div>`;
}

function channelLine(row: SheetRow): Markup {
  const [read, written, peak] = ['read_mb_per_s', 'write_mb_per_s', 'peak_mb_per_s'].map((column) =>
    numberIn(row, column),
  );
  const used = read === null || written === null || !peak ? null : (read! + written!) / peak;
  const shares = [
    'row_hit_share',
    'row_empty_share',
    'row_conflict_share',
    'refresh_share',
    'turnaround_share',
    'wasted_share',
  ];
  const cells = [
    rateText(read!),
    rateText(written!),
    shareText(used),
    ...shares.map((column) => shareText(numberIn(row, column))),
  ];
  return markup`<tr>
    <th scope="row">${textIn(row, 'placement')}</th>
    <td>${textIn(row, 'memory')} ${textIn(row, 'channel')}</td>
    ${cells.map(cellMarkup)}
  </tr>`;
}

function cacheTable(rows: readonly SheetRow[]): Markup | null {
  const used = rows.filter((row) => (numberIn(row, 'lookups') ?? 0) > 0 || (numberIn(row, 'stale_reads') ?? 0) > 0);
  if (used.length === 0) return null;
  const numbers = ['lookups', 'misses', 'merged', 'evictions', 'writebacks', 'interventions', 'stale_reads'];
  return markup`<h3>Caches</h3>
    <div class="scroll" tabindex="0" role="group" aria-label="caches, scrolls sideways">
      <table class="sortable" data-file="caches.csv">
        <caption>
          Caches
        </caption>
        <thead>
          <tr>
            ${['cache', 'master', 'placement', 'hits', ...numbers.map((name) => name.replaceAll('_', ' '))].map((head) => markup`<th scope="col">${head}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${used.map((row) => {
            const share = numberIn(row, 'hit_share');
            return markup`<tr>
              <th scope="row">${textIn(row, 'cache')}</th>
              <td>${textIn(row, 'master')}</td>
              <td>${textIn(row, 'placement')}</td>
              <td data-sort="${share ?? ''}">
                ${
                  share !== null &&
                  markup`<svg class="room" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true">
                    <rect class="gauge" width="100" height="6" />
                    <rect class="filled" width="${(100 * share).toFixed(1)}" height="6" />
                  </svg>`
                }${shareText(share)}
              </td>
              ${numbers.map((column) => cellMarkup(plainCount(numberIn(row, column))))}
            </tr>`;
          })}
        </tbody>
      </table>
    </div>`;
}

const plainCount = (count: number | null): string => (count === null ? '–' : counted(count, '', '').trim());
