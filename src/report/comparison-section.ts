/** Which placement is better for what: every metric of a comparison with the interval of its ratio. */
import { type Drawing, broad } from './chart.js';
import { type Facts, type Look, lookOf, pooledOf } from './facts.js';
import { inUnit, metricWords } from './figures.js';
import { cellMarkup, markup, type Markup } from './html.js';
import { legend } from './latency-section.js';
import { numberIn, type SheetRow, textIn } from './sheet.js';

/** A metric of which a ratio can be told: variant over baseline, with its interval. */
interface Ratio {
  readonly name: string;
  /** More is better; of all others less is. */
  readonly more: boolean;
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly verdict: string;
}

const OPEN_WORDS: Readonly<Record<string, string>> = {
  no_difference_shown: 'no difference shown',
  overloaded: 'overloaded',
  too_few_samples: 'too few samples',
  unfinished: 'some unfinished',
};

export function comparisonSection(facts: Facts, drawing: Drawing): Markup | null {
  const rows = pooledOf(facts, 'comparison.csv');
  const [first] = rows;
  if (first === undefined) return null;
  const names = [textIn(first, 'baseline'), textIn(first, 'variant')] as const;
  // the look that a placement has elsewhere on the page, where it is there
  const looks = names.map((name, i) => facts.looks.find((look) => look.name === name) ?? lookOf(name, i));
  const ratios = rows.flatMap(ratioOf);
  const manifest = facts.folder.manifests.get('comparison.json');
  return markup`<p>
      ${names[1]} against ${names[0]}, on the same random draws${manifest !== undefined && `, ${manifest.replications} replications each`}.
      A mark stands where the value in ${names[1]} is so many times that in ${names[0]}; the line through it is the interval, and all
      intervals and verdicts together err at most once in 20. The mark has the look of the placement that is better; a ring says
      that no difference is shown.
    </p>
    ${legend(looks)}
    ${ratios.length > 0 && broad(drawn(ratios, names, looks, drawing), 'Ratio of each metric with its interval, of latencies and load before bandwidths, the largest differences first.')}
    ${table(rows, names)}`;
}

function ratioOf(row: SheetRow): Ratio[] {
  const [baseline, low, high] = ['baseline_value', 'difference_ci95_low', 'difference_ci95_high'].map((column) =>
    numberIn(row, column),
  );
  const value = numberIn(row, 'ratio');
  if (!baseline || baseline < 0 || value === null || value <= 0 || low === null || high === null) return [];
  const { name, unit } = metricWords(textIn(row, 'metric'));
  // a lower end at nothing or below would lie infinitely far to the left on this axis
  const ends = [Math.max((baseline + low!) / baseline, value / 100), (baseline + high!) / baseline];
  return [{ name, more: unit === 'MB/s', value, low: ends[0]!, high: ends[1]!, verdict: textIn(row, 'verdict') }];
}

const TICKS = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100];
const MIDDLE = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.25, 1.5, 1.75, 2, 2.5];
const FINE = [0.9, 0.92, 0.94, 0.96, 0.98, 1, 1.02, 1.04, 1.06, 1.08, 1.1];

function drawn(
  ratios: readonly Ratio[],
  [baseline, variant]: readonly [string, string],
  looks: readonly Look[],
  { plot, draw }: Drawing,
): Markup {
  const sorted = inOrder(ratios);
  const ends = sorted.flatMap(({ low, high, value }) => [low, high, value]);
  const reach = Math.max(1.04, ...ends, ...ends.map((end) => 1 / end)) * 1.02;
  const ticks = (reach < 1.15 ? FINE : reach < 3 ? MIDDLE : TICKS).filter((tick) => tick >= 1 / reach && tick <= reach);
  const better = ({ verdict }: Ratio) => looks[['baseline_better', 'variant_better'].indexOf(verdict)];
  const words = ({ verdict, low, high }: Ratio) =>
    `${verdictWords(verdict, baseline, variant)}, ×${ratioText(low)} to ×${ratioText(high)}`;
  const ink = (ratio: Ratio) => better(ratio)?.colour ?? 'var(--quiet)';
  const place = { y: 'name' } as const;
  const end = { ...place, stroke: ink, insetTop: 7, insetBottom: 7 };
  const side = { frameAnchor: 'bottom', dy: 22, fill: 'var(--quiet)' } as const;
  const open = sorted.filter((ratio) => better(ratio) === undefined);
  return draw(
    {
      width: 1120,
      height: sorted.length * 23 + 70,
      marginLeft: 270,
      marginRight: 270,
      marginTop: 34,
      marginBottom: 34,
      style: { fontSize: '12.5px' },
      x: { type: 'log', domain: [1 / reach, reach], label: null },
      y: { domain: sorted.map(({ name }) => name), label: null, padding: 0.1 },
      marks: [
        plot.axisY({ tickSize: 0, label: null } as never),
        plot.gridX(ticks, { stroke: 'var(--rule)', strokeOpacity: 1 }),
        plot.ruleX([1], { stroke: 'var(--ink)', strokeWidth: 1.4 }),
        plot.axisX(ticks, {
          text: (tick: number) => (tick === 1 ? 'same' : `×${tick}`),
          anchor: 'top',
          tickSize: 4,
        } as never),
        plot.text([`← smaller in ${variant}`], { ...side, x: () => 1 / reach, textAnchor: 'start' }),
        plot.text([`larger in ${variant} →`], { ...side, x: () => reach, textAnchor: 'end' }),
        plot.ruleY(sorted, { ...place, x1: 'low', x2: 'high', stroke: ink, strokeWidth: 2 }),
        plot.tickX(sorted, { ...end, x: 'low' }),
        plot.tickX(sorted, { ...end, x: 'high' }),
        plot.dot(open, { ...place, x: 'value', r: 4, fill: 'var(--paper)', stroke: ink, strokeWidth: 1.6 }),
        ...looks.map((look) =>
          plot.dot(
            sorted.filter((ratio) => better(ratio) === look),
            { ...place, x: 'value', r: 5, symbol: look.shape, fill: look.colour },
          ),
        ),
        plot.text(sorted, { ...place, frameAnchor: 'right', textAnchor: 'start', dx: 12, text: words, fill: ink }),
      ],
    },
    { says: `Ratios of ${variant} to ${baseline} for each metric, with intervals. The table below has the numbers.` },
  );
}

const ratioText = (ratio: number): string => String(Number(ratio.toPrecision(ratio < 1.2 && ratio > 0.8 ? 4 : 3)));

/** Of each kind of metric the largest differences first. */
function inOrder(ratios: readonly Ratio[]): Ratio[] {
  const size = ({ value }: Ratio) => Math.abs(Math.log(value));
  return ratios.toSorted((a, b) => Number(a.more) - Number(b.more) || size(b) - size(a));
}

function table(rows: readonly SheetRow[], [baseline, variant]: readonly [string, string]): Markup {
  const heads = ['metric', baseline, variant, 'difference', 'from', 'to', 'verdict'];
  return markup`<div class="scroll" tabindex="0" role="group" aria-label="metrics compared, scrolls sideways"><table class="sortable" data-file="metrics.csv"><caption>Metrics compared</caption>
    <thead><tr>${heads.map((head) => markup`<th scope="col">${head}</th>`)}</tr></thead>
    <tbody>${rows.map((row) => {
      const { name, unit } = metricWords(textIn(row, 'metric'));
      const columns = ['baseline_value', 'variant_value', 'difference', 'difference_ci95_low', 'difference_ci95_high'];
      const numbers = columns.map((column) => cellMarkup(inUnit(numberIn(row, column), unit)));
      return markup`<tr><th scope="row">${name}</th>${numbers}<td>${verdictWords(textIn(row, 'verdict'), baseline, variant)}</td></tr>`;
    })}</tbody></table></div>`;
}

function verdictWords(verdict: string, baseline: string, variant: string): string {
  if (verdict === 'baseline_better') return `${baseline} better`;
  if (verdict === 'variant_better') return `${variant} better`;
  return OPEN_WORDS[verdict] ?? verdict;
}
