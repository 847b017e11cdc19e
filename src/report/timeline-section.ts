/** When: bandwidth and largest latency of each master, window by window; the page's script zooms all charts together. */
import { decimal, grouped as inThousands } from '../output/format.js';
import { type Drawing, card } from './chart.js';
import { type Facts, type Look, pooledOf } from './facts.js';
import { rateText, shortTime } from './figures.js';
import { markup, type Markup } from './html.js';
import { legend } from './latency-section.js';
import { grouped, numberIn, type SheetRow, textIn } from './sheet.js';

/** More windows than this are drawn together, since they would lie closer than pixels. */
const MOST_WINDOWS = 400;

/** What a chart shows of a window: the name of its column, and how windows are joined. */
interface Course {
  readonly title: string;
  readonly value: (row: SheetRow) => number | null;
  readonly join: (values: readonly number[]) => number;
  readonly log: boolean;
  readonly words: (value: number) => string;
  readonly unit: string;
}

const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
const largest = (values: readonly number[]): number => Math.max(...values);

const BANDWIDTH: Course = {
  title: 'bandwidth',
  value: (row) => (numberIn(row, 'read_mb_per_s') ?? 0) + (numberIn(row, 'write_mb_per_s') ?? 0),
  join: mean,
  log: false,
  words: rateText,
  unit: 'MB/s',
};
const LATENCY: Course = {
  title: 'largest latency',
  value: (row) => numberIn(row, 'max_latency_ns'),
  join: largest,
  log: true,
  words: shortTime,
  unit: 'ns',
};
const DEPTH: Course = {
  title: 'largest queue',
  value: (row) => numberIn(row, 'max_depth'),
  join: largest,
  log: false,
  words: (depth) => String(depth),
  unit: 'bursts',
};

/** Queues that never held more than one burst tell nothing. */
const SHALLOW = 1;

interface Point {
  readonly us: number;
  readonly value: number | null;
}

export function timelineSection(facts: Facts, drawing: Drawing): Markup | null {
  const rows = ofFirstReplication(pooledOf(facts, 'timeline.csv'));
  if (rows.length === 0) return null;
  const span = spanOf(rows);
  const masters = [...grouped(rows, (row) => textIn(row, 'master'))];
  const queues = [
    ...grouped(ofFirstReplication(pooledOf(facts, 'queues.csv')), (row) => textIn(row, 'element')),
  ].filter(([, own]) => largest(own.map((row) => DEPTH.value(row) ?? 0)) > SHALLOW);
  const strips = masters.flatMap(([master, own]) =>
    [BANDWIDTH, LATENCY].map((course) => strip(facts.looks, master, own, course, span, drawing)),
  );
  const depths = queues.map(([element, own]) => strip(facts.looks, element, own, DEPTH, span, drawing));
  const replication = textIn(rows[0]!, 'replication');
  return markup`<p>
      Replication ${replication}, window by window, from the start of the run.
      <span class="for-script">Drag over a chart, or move the two sliders, to see a part of the time: all charts follow.</span>
    </p>
    ${legend(facts.looks)}
    <fieldset class="zoom for-script" data-start="${span.start}" data-end="${span.end}" data-step="${span.step}">
      <legend>Time shown</legend><label>from <input type="range" class="zoom-from"></label><label>to <input type="range" class="zoom-to"></label>
      <output></output> <button type="button" class="plain">All of it</button>
    </fieldset>
    <div class="strips">${strips}</div>
    ${depths.length > 0 && markup`<h3>Queues that held more than one burst</h3><div class="strips">${depths}</div>`}`;
}

/** Replications have draws of their own, so that they are not laid over each other. */
function ofFirstReplication(rows: readonly SheetRow[]): readonly SheetRow[] {
  const [first] = rows;
  return first === undefined ? [] : rows.filter((row) => textIn(row, 'replication') === textIn(first, 'replication'));
}

interface Span {
  readonly start: number;
  readonly end: number;
  readonly step: number;
}

function spanOf(rows: readonly SheetRow[]): Span {
  const starts = [...new Set(rows.map((row) => numberIn(row, 'window_start_us') ?? 0))].toSorted((a, b) => a - b);
  const [start = 0, second = start + 1] = starts;
  return { start, end: starts.at(-1)! + (second - start), step: second - start };
}

function pointsOf(rows: readonly SheetRow[], { value, join }: Course, { step }: Span): Point[] {
  const size = Math.ceil(rows.length / MOST_WINDOWS);
  return Array.from({ length: Math.ceil(rows.length / size) }, (_, i) => {
    const own = rows.slice(i * size, (i + 1) * size);
    const values = own.map(value).filter((one) => one !== null);
    const us = (numberIn(own[0]!, 'window_start_us') ?? 0) + (own.length * step) / 2;
    return { us, value: values.length === 0 ? null : join(values) };
  });
}

const WIDTH = 540;
const HEIGHT = 104;

function strip(
  looks: readonly Look[],
  name: string,
  rows: readonly SheetRow[],
  course: Course,
  span: Span,
  { plot, draw }: Drawing,
): Markup {
  const series = looks.flatMap((look) => {
    const own = rows.filter((row) => textIn(row, 'placement') === look.name);
    return own.length === 0 ? [] : [{ look, points: pointsOf(own, course, span) }];
  });
  const values = series.flatMap(({ points }) => points.flatMap(({ value }) => value ?? []));
  const domain = domainOf(values, course.log);
  const most = values.length === 0 ? '–' : course.words(largest(values));
  const chart = draw(
    {
      width: WIDTH,
      height: HEIGHT,
      marginLeft: 62,
      marginRight: 32,
      marginTop: 8,
      marginBottom: 24,
      x: { domain: [span.start, span.end], label: null },
      y: { type: course.log ? 'log' : 'linear', domain, label: null },
      marks: [
        plot.gridY(course.log ? domain : [domain[0], domain[1] / 2, domain[1]], {
          stroke: 'var(--rule)',
          strokeOpacity: 1,
        }),
        plot.axisY(course.log ? domain : [domain[0], domain[1]], { text: course.words, tickSize: 0, fontSize: 11.5 }),
        plot.axisX({
          ticks: 5,
          text: (us: number) => `${us % 1 === 0 ? inThousands(us) : decimal(us, 3)} µs`,
          fontSize: 11.5,
          className: 'time',
        } as never),
        ...series.map(({ look, points }) =>
          plot.line(points, {
            x: 'us',
            y: ({ value }: Point) => (value === null || (course.log && value <= 0) ? NaN : value),
            stroke: look.colour,
            strokeDasharray: look.dash,
            strokeWidth: 1.5,
            strokeLinecap: 'round',
            className: 'course',
          }),
        ),
      ],
    },
    {
      says: `${course.title} of ${name} over time; the most is ${most}.`,
      data: {
        course: [...domain, course.log ? 'log' : 'linear', course.unit].join(' '),
        names: JSON.stringify(series.map(({ look }) => look.name)),
      },
    },
  );
  return card(markup`<strong>${name}</strong> ${course.title}, at most ${most} in a window`, chart);
}

/** From nothing to a round number above all; on a logarithmic axis whole decades around all. */
function domainOf(values: readonly number[], log: boolean): [number, number] {
  const positive = log ? values.filter((value) => value > 0) : values;
  if (positive.length === 0) return log ? [1, 10] : [0, 1];
  const top = largest(positive);
  if (log) return [10 ** Math.floor(Math.log10(Math.min(...positive))), 10 ** Math.ceil(Math.log10(top * 1.001))];
  const decade = 10 ** Math.floor(Math.log10(Math.max(top, 1e-9)));
  return [0, [1, 1.5, 2, 3, 4, 5, 6, 8, 10].map((step) => step * decade).find((round) => round >= top) ?? 10 * decade];
}
