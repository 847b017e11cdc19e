/** All paths at a glance: half, p99 and largest of each on one axis, and a table of what they were asked for and carried. */
import { type Drawing, broad } from './chart.js';
import { type Facts, type Look, pathName, pooledOf } from './facts.js';
import { counted, nsText, rateText, shortTime } from './figures.js';
import { cellMarkup, markup, type Markup } from './html.js';
import { legend, timeTicks } from './latency-section.js';
import { numberIn, type SheetRow, textIn } from './sheet.js';

export function pathSection(facts: Facts, drawing: Drawing): Markup | null {
  const rows = pooledOf(facts, 'latency.csv').filter((row) => textIn(row, 'level') === 'burst');
  if (rows.length === 0) return null;
  return markup`<p>
      Latency of bursts, from wanted to done. A line runs from the half (the mark) over p99 (the bar across) to the
      largest seen.
    </p>
    ${legend(facts.looks)}${broad(strips(facts.looks, rows, drawing), 'Half, p99 and largest latency of every path, on a logarithmic axis.')}
    ${pathTable(rows)}`;
}

interface Strip {
  readonly row: SheetRow;
  readonly path: string;
  readonly look: Look;
}

function strips(looks: readonly Look[], rows: readonly SheetRow[], { plot, draw }: Drawing): Markup {
  const all = looks.flatMap((look) =>
    rows
      .filter((row) => textIn(row, 'placement') === look.name)
      .map((row): Strip => ({ row, path: pathName(row), look })),
  );
  const paths = [...new Set(all.map(({ path }) => path))];
  const at =
    (column: string) =>
    ({ row }: Strip) =>
      positive(numberIn(row, column));
  const seen = all
    .flatMap((strip) => ['p50_ns', 'p99_ns', 'max_ns'].map((column) => at(column)(strip)))
    .filter((ns) => ns !== null);
  const [low, high] = [Math.min(...seen) * 0.85, Math.max(...seen) * 1.2];
  const each = 15 * looks.length + 10;
  return draw(
    {
      width: 1120,
      height: paths.length * each + 40,
      marginLeft: 190,
      marginRight: 70,
      marginTop: 6,
      marginBottom: 30,
      style: { fontSize: '12.5px' },
      x: { type: 'log', domain: [low, high], label: null },
      y: { domain: looks.map(({ name }) => name), axis: null, padding: 0.1 },
      fy: { domain: paths, label: null, tickSize: 0, padding: 0.14 },
      marks: [
        plot.axisFy({ anchor: 'left', tickSize: 0, fontWeight: 600 } as never),
        plot.gridX(timeTicks(low, high, 860), { stroke: 'var(--rule)', strokeOpacity: 1 }),
        plot.axisX(timeTicks(low, high, 860), { text: shortTime, fontSize: 12.5 }),
        ...looks.flatMap((look) => {
          const own = all.filter((strip) => strip.look === look);
          const place = { y: () => look.name, fy: 'path' } as const;
          const said = ({ row, path }: Strip) =>
            `${path}, ${look.name}: half within ${nsText(numberIn(row, 'p50_ns'))}, 99 % within ${nsText(numberIn(row, 'p99_ns'))}, largest ${nsText(numberIn(row, 'max_ns'))}`;
          return [
            plot.ruleY(own, {
              ...place,
              x1: at('p50_ns'),
              x2: at('max_ns'),
              stroke: look.colour,
              strokeWidth: 1.6,
              strokeDasharray: look.dash,
            }),
            plot.tickX(own, { ...place, x: at('p99_ns'), stroke: look.colour, strokeWidth: 2.5 }),
            plot.dot(own, { ...place, x: at('p50_ns'), symbol: look.shape, r: 4.5, fill: look.colour, title: said }),
            plot.dot(own, { ...place, x: at('max_ns'), r: 2, fill: look.colour }),
            plot.text(own, {
              ...place,
              x: at('max_ns'),
              text: ({ row }: Strip) => shortTime(numberIn(row, 'max_ns') ?? 0),
              textAnchor: 'start',
              dx: 6,
              fill: look.colour,
            }),
          ];
        }),
      ],
    },
    { says: 'Half, p99 and largest latency of every path and placement. The table below has the numbers.' },
  );
}

const positive = (ns: number | null): number | null => (ns !== null && ns > 0 ? ns : null);

function pathTable(rows: readonly SheetRow[]): Markup {
  const heads = [
    'path',
    'placement',
    'through',
    'state',
    'wanted',
    'carried',
    'mean',
    'p99',
    'largest',
    'largest backlog',
  ];
  return markup`<div class="scroll" tabindex="0" role="group" aria-label="paths, scrolls sideways">
    <table class="sortable" data-file="paths.csv">
      <caption>
        Paths
      </caption>
      <thead>
        <tr>
          ${heads.map((head) => markup`<th scope="col">${head}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${rows.map((row) => {
          const backlog = numberIn(row, 'max_backlog_bytes');
          const cells = [
            textIn(row, 'placement'),
            `${textIn(row, 'port')} to ${textIn(row, 'target')}`,
            textIn(row, 'state').replaceAll('_', ' '),
            rateText(numberIn(row, 'offered_mb_per_s')),
            rateText(numberIn(row, 'bandwidth_mb_per_s')),
            ...['mean_ns', 'p99_ns', 'max_ns'].map((column) => nsText(numberIn(row, column))),
            backlog === null ? '–' : counted(backlog, 'byte'),
          ];
          return markup`<tr>
            <th scope="row">${pathName(row)}</th>
            ${cells.map(cellMarkup)}
          </tr>`;
        })}
      </tbody>
    </table>
  </div>`;
}
