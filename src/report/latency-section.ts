/** How late: for each path the share of bursts that take longer than x, the placements over each other. */
import { type Drawing, card } from './chart.js';
import { type Facts, type Look, pathName, pooledOf } from './facts.js';
import { nsText, shortNumber, shortTime } from './figures.js';
import { markup, type Markup } from './html.js';
import { grouped, numberIn, type SheetRow, textIn } from './sheet.js';
import { type TailCurve, tailCurve } from './tail-curve.js';

const LEVELS = [
  ['burst', 'Bursts, from wanted to done'],
  ['port', 'Bursts, from first offered at the port to done'],
  ['transfer', 'Whole requests, from wanted to the last burst done'],
] as const;

/** Shares beyond, with the percentile that each stands for. */
const MARKS = [
  [0.5, 'p50'],
  [0.1, 'p90'],
  [0.01, 'p99'],
  [0.001, 'p99.9'],
  [0.0001, 'p99.99'],
  [0.00001, 'p99.999'],
] as const;
const COLUMNS = ['p50', 'p90', 'p99', 'p99_9', 'max'] as const;

const LEVEL_WORDS: Readonly<Record<string, string>> = {
  burst: 'bursts',
  port: 'bursts, from the port on',
  transfer: 'whole requests',
};

interface Series {
  readonly look: Look;
  readonly curve: TailCurve;
  readonly figures: SheetRow | undefined;
}

interface Limit {
  readonly name: string;
  readonly ns: number;
}

export function latencySection(facts: Facts, drawing: Drawing): Markup | null {
  const bins = pooledOf(facts, 'distribution.csv');
  if (bins.length === 0) return null;
  const groups = LEVELS.map(([level, title], i) => {
    const own = grouped(
      bins.filter((row) => textIn(row, 'level') === level),
      pathName,
    );
    if (own.size === 0) return null;
    const charts = [...own].map(([path, rows]) => pathFigure(facts, drawing, path, level, rows));
    return markup`<details class="group"${i === 0 && OPEN}><summary>${title}</summary><div class="cards">${charts}</div></details>`;
  });
  return markup`<p>
      Each curve falls from all bursts at the left to the slowest at the right: at height p99, one in a hundred takes
      longer than the time below. ${facts.looks.length > 1 && 'A longer reach to the right is a worse tail.'} Both axes
      are logarithmic.
      <span class="for-script"
        >Point at a chart, or step through it with the arrow keys, to read every curve at one height.</span
      >
    </p>
    ${legend(facts.looks)}${judged(facts, drawing, bins)}${groups}`;
}

/** The curves that a budget is about, before all others. */
function judged(facts: Facts, drawing: Drawing, bins: readonly SheetRow[]): Markup | null {
  const curves = grouped(bins, (row) => `${pathName(row)}\u0000${textIn(row, 'level')}`);
  const charts = [...curves.values()].flatMap((rows) => {
    const [path, level] = [pathName(rows[0]!), textIn(rows[0]!, 'level')];
    return limitsOf(facts, path, level).length === 0 ? [] : [pathFigure(facts, drawing, path, level, rows)];
  });
  if (charts.length === 0) return null;
  return markup`<details class="group" open><summary>What a budget is about</summary><div class="cards">${charts}</div></details>`;
}

const OPEN = markup` open`;

/** What the marks of the placements look like; nothing where there is only one. */
export function legend(looks: readonly Look[]): Markup | null {
  if (looks.length < 2) return null;
  return markup`<ul class="legend">
    ${looks.map((look) => markup`<li>${swatch(look)} ${look.name}</li>`)}
  </ul>`;
}

const PATHS: Record<Look['shape'], string> = {
  circle: 'M14 3a4 4 0 1 0 .01 0z',
  square: 'M10.4 3.4h7.2v7.2h-7.2z',
  triangle: 'M14 2.4l4.6 8.2h-9.2z',
  diamond: 'M14 2l4 5-4 5-4-5z',
  cross: 'M12.6 2.4h2.8v3.2h3.2v2.8h-3.2v3.2h-2.8v-3.2h-3.2v-2.8h3.2z',
  star: 'M14 2l1.3 3.4 3.7.2-2.9 2.3 1 3.6-3.1-2-3.1 2 1-3.6-2.9-2.3 3.7-.2z',
};

function swatch({ colour, dash, shape }: Look): Markup {
  return markup`<svg class="swatch" width="28" height="14" aria-hidden="true">
    <path d="M0 7h28" fill="none" stroke="${colour}" stroke-width="2" stroke-dasharray="${dash}" />
    <path d="${PATHS[shape]}" fill="${colour}" />
  </svg>`;
}

function pathFigure(facts: Facts, drawing: Drawing, path: string, level: string, rows: readonly SheetRow[]): Markup {
  const latency = pooledOf(facts, 'latency.csv');
  const series = facts.looks.flatMap((look): Series[] => {
    const own = rows.filter((row) => textIn(row, 'placement') === look.name);
    if (own.length === 0) return [];
    const figures = latency.find(
      (row) => pathName(row) === path && textIn(row, 'level') === level && textIn(row, 'placement') === look.name,
    );
    return [{ look, curve: tailCurve(own), figures }];
  });
  const limits = limitsOf(facts, path, level);
  const chart = draw(drawing, path, series, limits);
  const name = markup`<strong>${path}</strong> ${LEVEL_WORDS[level] ?? level}`;
  return card(name, chart, percentiles(series, limits));
}

/** Limits of the budgets of this path, once each. */
function limitsOf(facts: Facts, path: string, level: string): Limit[] {
  const limits = new Map<string, Limit>();
  for (const row of pooledOf(facts, 'budgets.csv')) {
    const name = textIn(row, 'budget');
    const of = facts.platforms.flatMap(({ budgets }) => budgets).find((budget) => budget.name === name);
    const ns = numberIn(row, 'limit');
    const meant = of !== undefined && (of.subject === path || path.startsWith(`${of.subject} `));
    if (meant && textIn(row, 'unit') === 'ns' && textIn(row, 'level') === level && ns !== null)
      limits.set(name, { name, ns });
  }
  return [...limits.values()];
}

const WIDTH = 360;
const HEIGHT = 232;
const MARGINS = { marginLeft: 60, marginRight: 16, marginTop: 22, marginBottom: 28 };

function draw({ plot, draw }: Drawing, path: string, series: readonly Series[], limits: readonly Limit[]): Markup {
  const floor = Math.max(1e-6, Math.min(0.005, ...series.map(({ curve }) => 0.7 / curve.count)));
  const times = series.flatMap(({ curve }) => curve.points.map(({ ns }) => ns)).filter((ns) => ns > 0);
  const low = Math.min(...times) * 0.9;
  const high = Math.max(...times, ...limits.map(({ ns }) => ns)) * 1.12;
  const at = (ns: number) => Math.max(ns, low);
  const lines = series.map(({ look, curve }) =>
    plot.line(
      [{ ns: low, share: 1 }, ...curve.points].map(({ ns, share }) => ({ x: at(ns), y: Math.max(share, floor) })),
      { x: 'x', y: 'y', stroke: look.colour, strokeWidth: 2, strokeDasharray: look.dash, className: 'tail' },
    ),
  );
  const dots = series.map(({ look, figures }) => plot.dot(readings(figures, floor), mark(look)));
  const ticks = MARKS.filter(([share]) => share >= floor);
  return draw(
    {
      width: WIDTH,
      height: HEIGHT,
      ...MARGINS,
      x: { type: 'log', domain: [low, high], label: null },
      y: { type: 'log', domain: [floor, 1], label: null },
      marks: [
        plot.gridY(
          ticks.map(([share]) => share),
          { stroke: 'var(--rule)', strokeOpacity: 1 },
        ),
        plot.axisY(
          ticks.map(([share]) => share),
          { text: (share: number) => ticks.find((one) => one[0] === share)![1], tickSize: 0, fontSize: 12 },
        ),
        plot.axisX(timeTicks(low, high, WIDTH - MARGINS.marginLeft - MARGINS.marginRight), {
          text: shortTime,
          fontSize: 12,
        }),
        ...limits.flatMap(({ name, ns }) => [
          plot.ruleX([ns], { stroke: 'var(--alarm)', strokeWidth: 2, strokeDasharray: '1 3', strokeLinecap: 'round' }),
          plot.text([ns], {
            x: (d: number) => d,
            text: () => `limit ${name}`,
            frameAnchor: 'top',
            dy: -16,
            textAnchor: 'end',
            dx: 6,
            fill: 'var(--alarm)',
            fontSize: 12,
          }),
        ]),
        ...lines,
        ...dots,
      ],
    },
    {
      says: saying(path, series),
      data: { tail: [low, high, floor].join(' '), names: JSON.stringify(series.map(({ look }) => look.name)) },
    },
  );
}

const mark = (look: Look) => ({ x: 'x', y: 'y', symbol: look.shape, fill: look.colour, r: 4, stroke: 'var(--paper)' });

/** The printed percentiles as points. */
function readings(figures: SheetRow | undefined, floor: number): { x: number; y: number }[] {
  if (figures === undefined) return [];
  return MARKS.flatMap(([share, name]) => {
    const ns = numberIn(figures, `${name.replace('.', '_')}_ns`);
    return ns === null || ns <= 0 || share < floor ? [] : [{ x: ns, y: share }];
  });
}

/** Steps of a decade, from few to many. */
const STEPS = [
  [1],
  [1, 3],
  [1, 2, 5],
  [1, 1.5, 2, 3, 4, 5, 7],
  [1, 1.1, 1.2, 1.3, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3, 3.5, 4, 4.5, 5, 5.5, 6, 6.5, 7, 8, 9],
];

/** Round times on a logarithmic axis of so many pixels: the most that leave room for their words. */
export function timeTicks(low: number, high: number, pixels: number): number[] {
  const first = Math.floor(Math.log10(low));
  const decades = Array.from({ length: Math.ceil(Math.log10(high)) - first + 1 }, (_, i) => 10 ** (first + i));
  const at = (tick: number) => (Math.log(tick / low) / Math.log(high / low)) * pixels;
  const sets = STEPS.map((steps) =>
    decades
      .flatMap((decade) => steps.map((step) => Number((step * decade).toPrecision(3))))
      .filter((tick) => tick >= low && tick <= high),
  );
  const fits = (ticks: readonly number[]) =>
    ticks.every((tick, i) => i === 0 || at(tick) - at(ticks[i - 1]!) >= TICK_ROOM);
  const fitting = sets.filter((ticks) => ticks.length > 0 && fits(ticks));
  const most = fitting.toSorted((a, b) => b.length - a.length)[0];
  return most !== undefined && most.length > 1 ? most : thinned(sets.at(-1)!, at);
}

/** Pixels that a tick's words need. */
const TICK_ROOM = 54;

function thinned(ticks: readonly number[], at: (tick: number) => number): number[] {
  const kept: number[] = [];
  for (const tick of ticks) if (kept.length === 0 || at(tick) - at(kept.at(-1)!) >= TICK_ROOM) kept.push(tick);
  return kept;
}

function saying(path: string, series: readonly Series[]): string {
  const parts = series.map(({ look, figures }) => {
    const [p50, p99] = ['p50_ns', 'p99_ns'].map((column) => (figures === undefined ? null : numberIn(figures, column)));
    return `${look.name}: half within ${nsText(p50 ?? null)}, 99 % within ${nsText(p99 ?? null)}`;
  });
  return `Share of samples of ${path} that take longer than a latency. ${parts.join('; ')}.`;
}

function percentiles(series: readonly Series[], limits: readonly Limit[]): Markup {
  return markup`<table class="mini">
      <thead>
        <tr>
          <td></td>
          ${COLUMNS.map((name) => markup`<th scope="col">${name.replace('_', '.')}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${series.map(
          ({ look, figures }) =>
            markup`<tr>
              <th scope="row">${swatch(look)} ${look.name}</th>
              ${COLUMNS.map(
                (name) =>
                  markup`<td>
                    ${figures === undefined ? '–' : cellText(numberIn(figures, `${name}_ns`))}
                  </td>`,
              )}
            </tr>`,
        )}
      </tbody>
    </table>
    <small>ns${limits.map(({ name, ns }) => markup`; limit ${name}: ${nsText(ns)}`)}; – : too few samples for it</small>`;
}

/** Whole from 1,000 ns on: the column is narrow. */
function cellText(ns: number | null): string {
  if (ns === null) return '–';
  return ns >= 1000 ? shortNumber(ns) : String(Number(ns.toFixed(1)));
}
