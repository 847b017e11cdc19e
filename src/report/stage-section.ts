/** Where the time goes: the stages of each path, of all bursts beside the slowest hundredth. */
import { STAGES, type StageName } from '../measure/journey/stage.js';
import { type Drawing, broad } from './chart.js';
import { type Facts, pathName, pooledOf } from './facts.js';
import { nsText, shareText } from './figures.js';
import { markup, type Markup } from './html.js';
import { grouped, numberIn, type SheetRow, textIn } from './sheet.js';

/** Short words for narrow bars, and whether time there is waiting; a pattern tells neighbours apart without colour. */
const SHOWN: Record<StageName, { short: string; fill: string; waits: boolean }> = {
  source_wait: { short: 'source wait', fill: 'url(#wait-a)', waits: true },
  port: { short: 'port', fill: 'url(#wait-b)', waits: true },
  arbitration: { short: 'arbitration', fill: 'url(#wait-c)', waits: true },
  transfer: { short: 'transfer', fill: 'var(--serve-a)', waits: false },
  lookup: { short: 'lookup', fill: 'var(--serve-b)', waits: false },
  snoop: { short: 'snoop', fill: 'url(#serve-dots)', waits: false },
  memory_queue: { short: 'memory queue', fill: 'url(#wait-d)', waits: true },
  row_preparation: { short: 'row', fill: 'var(--serve-c)', waits: false },
  data: { short: 'data', fill: 'var(--serve-d)', waits: false },
  refresh: { short: 'refresh', fill: 'url(#wait-e)', waits: true },
  return_arbitration: { short: 'return arb.', fill: 'url(#wait-f)', waits: true },
  return_transfer: { short: 'return', fill: 'var(--serve-e)', waits: false },
};

const PARTS = [
  ['all', 'all bursts'],
  ['slowest_1_percent', 'the slowest 1 %'],
] as const;

interface Piece {
  readonly path: string;
  readonly placement: string;
  readonly part: string;
  readonly stage: StageName;
  readonly ns: number;
  readonly from: number;
  readonly to: number;
}

export function stageSection(facts: Facts, { plot, draw }: Drawing): Markup | null {
  const rows = pooledOf(facts, 'stages.csv');
  const pieces = [...grouped(rows, barOf).values()].flatMap(piecesOf);
  if (pieces.length === 0) return null;
  const paths = [...new Set(pieces.map(({ path }) => path))];
  const placements = facts.looks.map(({ name }) => name);
  const bars = [...grouped(pieces, ({ path, placement, part }) => `${path}\u0000${placement}\u0000${part}`).values()];
  const totals = bars.map((own) => ({ ...own[0]!, ns: own.reduce((sum, { ns }) => sum + ns, 0) }));
  const height = 24 * placements.length + 14;
  const labels = pieces.filter(({ from, to, stage }) => (to - from) * 370 > 7.4 * SHOWN[stage].short.length + 6);
  const chart = draw(
    {
      width: 1120,
      height: paths.length * height + 56,
      marginLeft: 250,
      marginRight: 84,
      marginTop: 42,
      marginBottom: 14,
      x: { domain: [0, 1], axis: null },
      y: { domain: placements, label: null, padding: 0.14, axis: placements.length > 1 ? 'left' : null, tickSize: 0 },
      fx: {
        axis: 'top',
        domain: PARTS.map(([part]) => part),
        label: null,
        tickFormat: (part: string) => PARTS.find(([name]) => name === part)![1],
        padding: 0.2,
      },
      fy: { domain: paths, label: null, axis: null, padding: 0.22 },
      style: { fontSize: '12.5px' },
      marks: [
        plot.text(paths, {
          fy: (path: string) => path,
          fx: () => PARTS[0][0],
          text: (path: string) => path,
          frameAnchor: 'left',
          textAnchor: 'end',
          dx: placements.length > 1 ? -88 : -10,
          fontWeight: 600,
        }),
        plot.barX(pieces, {
          x1: 'from',
          x2: 'to',
          y: 'placement',
          fx: 'part',
          fy: 'path',
          fill: ({ stage }: Piece) => SHOWN[stage].fill,
          stroke: 'var(--paper)',
          strokeWidth: 1,
          title: ({ path, placement, stage, ns, from, to }: Piece) =>
            `${path}, ${placement}: ${stage} ${nsText(ns)}, ${shareText(to - from)} of it`,
        }),
        plot.text(labels, {
          x: ({ from, to }: Piece) => (from + to) / 2,
          y: 'placement',
          fx: 'part',
          fy: 'path',
          text: ({ stage }: Piece) => SHOWN[stage].short,
          fill: ({ stage }: Piece) => (SHOWN[stage].waits ? 'var(--on-wait)' : 'var(--on-serve)'),
          stroke: ({ stage }: Piece) => (SHOWN[stage].waits ? 'var(--wait-paper)' : 'none'),
          strokeWidth: 4,
          fontSize: 12,
          pointerEvents: 'none',
        }),
        plot.text(totals, {
          x: 1,
          y: 'placement',
          fx: 'part',
          fy: 'path',
          text: ({ ns }: Piece) => nsText(ns),
          textAnchor: 'start',
          dx: 5,
        }),
      ],
    },
    {
      says: `Stages of the latency of ${paths.join(', ')}: of all bursts, and of the slowest hundredth. The table below has the numbers.`,
    },
  );
  const sampled = rows.some((row) => (numberIn(row, 'followed_share') ?? 1) < 1);
  return markup`<p>
      A bar is the mean latency of a burst, cut into its stages in the order in which it goes through them; its length
      in ns stands at its end. Hatched on light ground: waiting. Filled: service. What grows from the left column to the
      right one is what makes the tail.
      ${sampled && 'Of a path with many bursts a sample was followed; stages.csv tells which share.'}
    </p>
    ${patterns()}${stageLegend(pieces)}
    ${broad(chart, 'Mean time in each stage, as a share of the mean latency: body at the left, tail at the right.')}`;
}

const barOf = (row: SheetRow): string => [pathName(row), textIn(row, 'placement'), textIn(row, 'part')].join('\u0000');

function piecesOf(rows: readonly SheetRow[]): Piece[] {
  const known = rows.filter((row) => textIn(row, 'stage') in SHOWN && numberIn(row, 'mean_ns') !== null);
  const total = known.reduce((sum, row) => sum + numberIn(row, 'mean_ns')!, 0);
  let from = 0;
  return known.flatMap((row) => {
    const ns = numberIn(row, 'mean_ns')!;
    if (ns === 0 || total === 0) return [];
    const piece = {
      path: pathName(row),
      placement: textIn(row, 'placement'),
      part: textIn(row, 'part'),
      stage: textIn(row, 'stage') as StageName,
      ns,
      from,
      to: from + ns / total,
    };
    from = piece.to;
    return [piece];
  });
}

function stageLegend(pieces: readonly Piece[]): Markup {
  const seen = new Set(pieces.map(({ stage }) => stage));
  return markup`<ul class="legend">
    ${STAGES.filter(({ name }) => seen.has(name)).map(
      ({ name, meaning }) =>
        markup`<li title="${meaning}">
          <svg class="swatch" width="28" height="14" aria-hidden="true">
            <rect width="28" height="14" fill="${SHOWN[name].fill}" />
          </svg>
          ${name.replaceAll('_', ' ')}
        </li>`,
    )}
  </ul>`;
}

/** Hatches of the waiting stages: each in another direction, so that neighbours differ in print and without colour. */
function patterns(): Markup {
  const hatch = (id: string, turn: number, size: number, stroke: string, width: number) =>
    markup`<pattern
      id="${id}"
      width="${size}"
      height="${size}"
      patternUnits="userSpaceOnUse"
      patternTransform="rotate(${turn})"
      ><rect width="${size}" height="${size}" fill="var(--wait-paper)" /><path
        d="M0 0V${size}"
        stroke="${stroke}"
        stroke-width="${width}"
    /></pattern>`;
  return markup`<svg width="0" height="0" class="defs" aria-hidden="true">
    <defs>
      ${hatch('wait-a', 45, 7, 'var(--wait-a)', 5)}${hatch('wait-b', -45, 7, 'var(--wait-b)', 4)}${hatch('wait-c', 0, 6, 'var(--wait-c)', 4)}
      ${hatch('wait-d', 90, 6, 'var(--wait-a)', 4)}${hatch('wait-e', 45, 4, 'var(--wait-b)', 2.4)}${hatch('wait-f', -45, 4, 'var(--wait-c)', 2.4)}
      <pattern id="serve-dots" width="6" height="6" patternUnits="userSpaceOnUse">
        <rect width="6" height="6" fill="var(--serve-b)" />
        <circle cx="3" cy="3" r="1.5" fill="var(--paper)" />
      </pattern>
    </defs>
  </svg>`;
}
