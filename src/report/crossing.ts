/** Where two placements change rank, as a sweep found it. */
import { type Facts, pooledOf } from './facts.js';
import { metricWords, shortNumber } from './figures.js';
import { numberIn, textIn } from './sheet.js';

/** A range of the key in which two placements change rank, or what else a search for it said. */
export interface Crossing {
  readonly key: string;
  readonly metric: string;
  readonly low: number | null;
  readonly high: number | null;
  readonly words: string;
}

/** What was found of the values at which two placements change rank. */
export function crossingsOf(facts: Facts): Crossing[] {
  return pooledOf(facts, 'crossing.csv').map((row) => {
    const end = (name: string) =>
      [...row.keys()].find((column) => column === name || column.startsWith(`${name}_`)) ?? name;
    const [low, high] = [numberIn(row, end('low')), numberIn(row, end('high'))];
    const unit = end('low')
      .replace(/^low_?/u, '')

      .replaceAll('_', ' ')
      .replace('mb per s', 'MB/s');
    const [key, metric, verdict] = ['key', 'metric', 'verdict'].map((column) => textIn(row, column));
    const range =
      `${low === null ? '?' : shortNumber(low)} to ${high === null ? '?' : shortNumber(high)} ${unit}`.trim();
    const changes = verdict === 'narrowed' || verdict === 'undecided';
    const { name } = metricWords(metric!);
    const [below, above] = [textIn(row, 'better_below'), textIn(row, 'better_above')];
    const words = changes
      ? `${name}: ${below} is better below, ${above} above; they change rank at ${key} of ${range}${verdict === 'undecided' ? ', which the data narrow no further' : ''}.`
      : `${name}: ${verdict!.replaceAll('_', ' ')} over ${key} of ${range}${below === '' ? '' : `, ${below} is better`}.`;
    return { key: key!, metric: metric!, low: changes ? low : null, high: changes ? high : null, words };
  });
}
