/** What `compare` says at the end: which system is better for what, by how much, and what the data leave open. */
import type { ComparisonRow } from '../measure/tables/rows.js';
import type { MetricSpec } from '../scenario/scenario.js';
import { isOfTime, subjectName } from '../measure/subject.js';
import { percentileName } from '../measure/tables/verdict-columns.js';
import { type Comparison, ERROR, LOOKS, NARROW } from '../study/compare.js';
import { CAUTION } from './caution.js';
import { fixed, grouped, percent, readableNs, readableRate, readableSpan } from './format.js';
import { list } from './items.js';
import { type Look, PLAIN } from './look.js';
import { wrap } from './wrap.js';

/** The whole text, ending with a newline. */
export function comparisonText(comparison: Comparison, options: Look = PLAIN): string {
  const { baseline, variant, rows } = comparison;
  const of = (verdict: ComparisonRow['verdict']) => rows.filter((row) => row.verdict === verdict);
  const parts = [
    heading(comparison, options),
    list(`${baseline} is better for`, bySize(of('baseline_better')).map(better), options),
    list(`${variant} is better for`, bySize(of('variant_better')).map(better), options),
    list('No difference shown', of('no_difference_shown').map(open), options),
    list('Not judged', rows.flatMap(unjudged), options),
    wrap(confidence(comparison), options.width, '').join('\n'),
    wrap(CAUTION, options.width, '').join('\n'),
  ];
  return `${parts.filter((part) => part !== '').join('\n\n')}\n`;
}

function heading(comparison: Comparison, { paint, width }: Look): string {
  const { scenario, baseline, variant, seed, replications, windowPs, warmupPs } = comparison;
  const warmup = warmupPs === null ? 'warm-up not settled' : `warm-up ${readableSpan(warmupPs)}`;
  const run = `seed ${seed}, ${replications} replications of ${readableSpan(windowPs)} each, on the same draws, ${warmup}`;
  return [
    ...wrap(`${scenario}: ${baseline} against ${variant}`, width, '').map((line) => paint('heading', line)),
    ...wrap(run, width, '').map((line) => paint('faint', line)),
  ].join('\n');
}

function confidence({ rows, replications, stopped }: Comparison): string {
  const sure = percent(1 - ERROR);
  const end = stopped
    ? `It was stopped after ${replications} replications; more may show more.`
    : replications === LOOKS.at(-1)
      ? `No more than ${replications} replications are run.`
      : `It ended after ${replications} replications, as more could not change what is said here by much.`;
  return (
    `All that is said here, for ${rows.length} ${rows.length === 1 ? 'metric' : 'metrics'} and however soon it ended, ` +
    `holds together with ${sure} confidence. ${end}`
  );
}

/** The largest relative differences first. */
function bySize(rows: readonly ComparisonRow[]): ComparisonRow[] {
  const size = (row: ComparisonRow): number => Math.abs(row.difference!) / Math.abs(row.baselineValue!);
  return rows.toSorted((a, b) => size(b) - size(a));
}

/** `classifier read, mean burst latency: 1,351.7 ns against 2,801.7 ns, lower by 51.2 % to 52.3 % of it`. */
function better(row: ComparisonRow): string {
  const baselineWins = row.verdict === 'baseline_better';
  const [winner, loser] = baselineWins
    ? [row.baselineValue!, row.variantValue!]
    : [row.variantValue!, row.baselineValue!];
  const lower = winner < loser;
  const ends = [Math.abs(row.low!), Math.abs(row.high!)].toSorted((a, b) => a - b);
  const amount =
    loser > 0
      ? `${share(ends[0]! / loser)} to ${share(ends[1]! / loser)} of it`
      : `${inUnit(row, ends[0]!)} to ${inUnit(row, ends[1]!)}`;
  return `${what(row)}: ${inUnit(row, winner)} against ${inUnit(row, loser)}, ${lower ? 'lower' : 'higher'} by ${amount}`;
}

function open(row: ComparisonRow): string {
  const { baselineValue, variantValue, baseline, variant, low, high } = row;
  const largest = Math.max(Math.abs(low!), Math.abs(high!));
  const size = Math.max(Math.abs(baselineValue!), Math.abs(variantValue!));
  const values = `${inUnit(row, baselineValue!)} in ${baseline}, ${inUnit(row, variantValue!)} in ${variant}`;
  if (largest === 0) return `${what(row)}: ${values}, the same in every replication`;
  const wide = (high! - low!) / 2 > NARROW * size ? '; the replications do not tell more' : '';
  const amount = size > 0 ? share(largest / size) : inUnit(row, largest);
  return `${what(row)}: ${values}; a difference of up to ${amount} is not excluded${wide}`;
}

function unjudged(row: ComparisonRow): string[] {
  switch (row.verdict) {
    case 'overloaded':
      return [
        `${what(row)}: the path is overloaded in ${row.overloadedIn.join(' and ')}, so its latency means nothing`,
      ];
    case 'too_few_samples':
      return [`${what(row)}: too few samples in a replication; measure for longer`];
    case 'unfinished':
      return [`${what(row)}: some had not come back at the end; allow a longer drain`];
    default:
      return [];
  }
}

const what = ({ metric }: ComparisonRow): string => metricText(metric);

/** A metric in words: `camera read, p99 burst latency`. */
export function metricText(metric: MetricSpec): string {
  if (metric.kind === 'task')
    return `task ${subjectName(metric)}, ${percentileName(metric.percentile).replace('_', '.')} time`;
  if (metric.kind !== 'latency') return `${subjectName(metric)}, ${metric.kind}`;
  const which = percentileName(metric.percentile).replace('_', '.');
  return `${subjectName(metric)}, ${which} ${metric.level} latency`;
}

const inUnit = ({ metric }: ComparisonRow, value: number): string => metricValue(metric, value);

/** A value of a metric with its unit. */
export function metricValue(metric: MetricSpec, value: number): string {
  if (isOfTime(metric)) return `${readableNs(value)} ns`;
  return metric.kind === 'bandwidth' ? `${readableRate(value)} MB/s` : percent(value);
}

/** Small ones with more digits, so that none is shown as nothing. */
function share(value: number): string {
  if (value >= 10) return `${grouped(100 * value)} %`;
  return value >= 0.001 || value === 0
    ? percent(value)
    : value < 1e-6
      ? 'less than 0.0001 %'
      : `${fixed(100 * value, 4)} %`;
}
