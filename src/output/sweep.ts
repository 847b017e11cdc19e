/** What `sweep` says at the end. */
import type { CrossingRow } from '../measure/tables/rows.js';
import { ERROR } from '../study/compare.js';
import { type Crossing, FIRST_POINTS } from '../study/crossing.js';
import type { Sweep } from '../study/sweep.js';
import { CAUTION } from './caution.js';
import { metricText } from './comparison.js';
import { grouped, percent } from './format.js';
import { items } from './items.js';
import { type Look, PLAIN } from './look.js';
import { wrap } from './wrap.js';

/** What a sweep over some keys did, ending with a newline. */
export function sweepText(scenario: string, keys: readonly string[], sweep: Sweep, options = PLAIN): string {
  const { done, asked, recalled, unsettled } = sweep;
  const overloaded = sweep.rows.filter(({ state }) => state === 'overloaded').length;
  const sentences = [
    `${grouped(done)} of ${grouped(asked)} points over ${keys.join(', ')}` +
      (recalled === 0 ? '.' : `; ${grouped(recalled)} of them were finished before.`),
    ...(unsettled === 0
      ? []
      : [`At ${grouped(unsettled)} points the pilot run had not settled: state a longer run.warmup.`]),
    ...(overloaded === 0 ? [] : [`${grouped(overloaded)} rows are of overloaded paths, whose latency means nothing.`]),
  ];
  return text(`${scenario}: sweep`, sentences, options);
}

/** Where two placements change rank, ending with a newline. */
export function crossingText({ scenario, rows, looked }: Crossing, options: Look = PLAIN): string {
  const { baseline, variant, key, metric } = rows[0]!;
  const changes = rows.filter(({ verdict }) => verdict === 'narrowed' || verdict === 'undecided').length;
  const open = looked.filter(({ rank }) => rank === 'open').map(({ value }) => value);
  const sentences = [
    ...rows.map(sentence),
    ...(changes > 1 ? [`The rank changes ${changes} times, so no single value of ${key} parts the two.`] : []),
    ...(open.length > 0 ? [`No difference is shown at ${open.join(', ')}.`] : []),
    `${looked.length} values were looked at, ${FIRST_POINTS} of them across the range; changes that lie between two of these and ` +
      `undo each other are not seen. All that is said here holds together with ${percent(1 - ERROR)} confidence.`,
  ];
  return text(`${scenario}: ${baseline} against ${variant} over ${key}, by ${metricText(metric)}`, sentences, options);
}

function sentence({ key, low, high, betterBelow, betterAbove, verdict }: CrossingRow): string {
  switch (verdict) {
    case 'narrowed':
    case 'undecided':
      return (
        `${betterBelow} is better at ${key} = ${low}, ${betterAbove} at ${high}: the rank changes in between` +
        (verdict === 'narrowed' ? '.' : '; where, the last look does not decide.')
      );
    case 'no_change':
      return `From ${low} to ${high} there is no change: ${betterBelow} is better wherever a difference is shown.`;
    case 'nothing_shown':
      return `From ${low} to ${high} no difference is shown at all.`;
  }
}

function text(heading: string, sentences: readonly string[], look: Look): string {
  const lines = [
    ...wrap(heading, look.width, '').map((line) => look.paint('heading', line)),
    ...items(sentences, look),
    '',
    ...wrap(CAUTION, look.width, ''),
  ];
  return `${lines.join('\n')}\n`;
}
