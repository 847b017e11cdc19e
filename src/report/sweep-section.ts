/** What changes as keys of the scenario are swept: a curve a placement with its intervals, and where curves cross. */
import { card, type Drawing } from './chart.js';
import { type Facts, type Look, lookOf, pooledOf } from './facts.js';
import { type Crossing, crossingsOf } from './crossing.js';
import { inUnit, metricWords } from './figures.js';
import { markup, type Markup } from './html.js';
import { legend } from './latency-section.js';
import { grouped, numberIn, type SheetRow, textIn } from './sheet.js';

/** Which columns of a sweep's table are what. */
interface Shape {
  /** Keys that take several values; the first is the axis. */
  readonly keys: readonly string[];
  readonly low: string;
  readonly high: string;
}

interface Point {
  readonly x: number;
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
}

interface Curve {
  readonly look: Look;
  readonly points: readonly Point[];
}

export function sweepSection(facts: Facts, drawing: Drawing): Markup | null {
  const rows = pooledOf(facts, 'sweep.csv');
  const crossings = crossingsOf(facts);
  const shape = shapeOf(rows);
  if (shape === null) return crossings.length === 0 ? null : crossingList(crossings);
  const [axis] = shape.keys;
  const looks = [...new Set(rows.map((row) => seriesOf(row, shape)))].map(lookOf);
  const cards = [...grouped(rows, (row) => textIn(row, 'metric'))].map(([metric, own]) => {
    const crossing = crossings.filter((one) => one.metric === metric && axis!.startsWith(one.key));
    return metricCard(metric, own, shape, looks, crossing, drawing);
  });
  return markup`<p>
      Along the axis: ${axis}. A bar through a point is the 95 % interval of its value.
      ${crossings.length > 0 && 'A band marks the range in which two placements change rank.'}
    </p>
    ${legend(looks)}
    <div class="cards">${cards}</div>
    ${crossings.length > 0 && crossingList(crossings)}`;
}

const crossingList = (crossings: readonly Crossing[]): Markup =>
  markup`<ul>${crossings.map(({ words }) => markup`<li>${words}</li>`)}</ul>`;

const BASE = ['scenario', 'placement', 'replication'];

/** The keys stand between the columns of every table and `metric`. */
function shapeOf(rows: readonly SheetRow[]): Shape | null {
  const columns = [...(rows[0]?.keys() ?? [])];
  const end = columns.indexOf('metric');
  if (end < 0 || !columns.includes('value')) return null;
  const keys = columns
    .slice(0, end)
    .filter((column) => !BASE.includes(column) && new Set(rows.map((row) => textIn(row, column))).size > 1);
  const numeric = (key: string) => rows.every((row) => numberIn(row, key) !== null);
  const axis = keys.find(numeric);
  if (axis === undefined) return null;
  const ending = (end: string) => columns.find((column) => column.endsWith(end)) ?? '';
  return { keys: [axis, ...keys.filter((key) => key !== axis)], low: ending('_low'), high: ending('_high') };
}

/** One curve for each placement and value of the other keys. */
const seriesOf = (row: SheetRow, { keys }: Shape): string =>
  [textIn(row, 'placement'), ...keys.slice(1).map((key) => `${key} ${textIn(row, key)}`)]
    .filter((word) => word !== '')
    .join(', ');

function metricCard(
  metric: string,
  rows: readonly SheetRow[],
  shape: Shape,
  looks: readonly Look[],
  crossings: readonly Crossing[],
  drawing: Drawing,
): Markup {
  const [axis] = shape.keys;
  const { name, unit } = metricWords(metric);
  const curves = looks.flatMap((look): Curve[] => {
    const points = rows
      .filter((row) => seriesOf(row, shape) === look.name)
      .flatMap((row) => pointOf(row, shape))
      .toSorted((a, b) => a.x - b.x);
    return points.length === 0 ? [] : [{ look, points }];
  });
  return card(markup`<strong>${name}</strong> ${unit}`, drawn(name, unit, axis!, curves, crossings, drawing));
}

function pointOf(row: SheetRow, { keys, low, high }: Shape): Point[] {
  const [x, value] = [numberIn(row, keys[0]!), numberIn(row, 'value')];
  return x === null || value === null ? [] : [{ x, value, low: numberIn(row, low), high: numberIn(row, high) }];
}

function drawn(
  name: string,
  unit: string,
  axis: string,
  curves: readonly Curve[],
  crossings: readonly Crossing[],
  { plot, draw }: Drawing,
): Markup {
  const bands = crossings.filter(({ low, high }) => low !== null && high !== null);
  const seen = curves.map(
    ({ look, points }) => `${look.name}: ${inUnit(points[0]!.value, unit)} to ${inUnit(points.at(-1)!.value, unit)}`,
  );
  return draw(
    {
      width: 360,
      height: 240,
      marginLeft: 62,
      marginRight: 14,
      marginTop: 12,
      marginBottom: 40,
      x: { label: null, nice: true },
      y: { label: null, nice: true, zero: true },
      marks: [
        plot.gridY({ stroke: 'var(--rule)', strokeOpacity: 1, ticks: 4 }),
        plot.axisY({ ticks: 4, tickSize: 0, fontSize: 12 }),
        plot.axisX({ ticks: 4, fontSize: 12 }),
        plot.text([axis], { frameAnchor: 'bottom', dy: 36, fontSize: 12, fill: 'var(--quiet)' }),
        plot.rectX(bands, { x1: 'low', x2: 'high', fill: 'var(--alarm)', fillOpacity: 0.13 }),
        plot.ruleX(
          bands.flatMap(({ low, high }) => [low, high]),
          { stroke: 'var(--alarm)', strokeWidth: 2, strokeDasharray: '1 3', strokeLinecap: 'round' },
        ),
        ...curves.flatMap(({ look, points }) => [
          plot.line(points, { x: 'x', y: 'value', stroke: look.colour, strokeWidth: 2, strokeDasharray: look.dash }),
          plot.ruleX(
            points.filter(({ low, high }) => low !== null && high !== null),
            { x: 'x', y1: 'low', y2: 'high', stroke: look.colour, strokeWidth: 1.5 },
          ),
          plot.dot(points, { x: 'x', y: 'value', symbol: look.shape, fill: look.colour, r: 4, stroke: 'var(--paper)' }),
        ]),
      ],
    },
    { says: `${name} over ${axis}. ${seen.join('; ')}.` },
  );
}
