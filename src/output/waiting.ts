import { BY_REFRESH, ITSELF } from '../measure/journey/blame-tally.js';
import type { BlameRow } from '../measure/tables/rows.js';
import { percent, readableNs } from './format.js';

/** A path that waits less than this for a burst is not worth a sentence. */
const LEAST_PS = 1000;
/** Causes that are named, and the share from which on a second one is. */
const NAMED = 2;
const SECOND_SHARE = 0.1;

/** A sentence for each path: how long its bursts wait, and for whom most, where. The rows are those of one placement. */
export function waitingSentences(rows: readonly BlameRow[]): string[] {
  const victims = new Map<string, BlameRow[]>();
  for (const row of rows) victims.set(row.victim, [...(victims.get(row.victim) ?? []), row]);
  return [...victims].flatMap(([victim, causes]) => {
    const waiting = causes.reduce((sum, { meanPs }) => sum + meanPs, 0);
    if (waiting < LEAST_PS) return [];
    const named = causes
      .toSorted((a, b) => b.meanPs - a.meanPs)
      .slice(0, NAMED)
      .filter(({ meanPs }, i) => i === 0 || meanPs >= SECOND_SHARE * waiting)
      .map(({ culprit, element, meanPs }) => `${percent(meanPs / waiting)} of it ${cause(culprit)} at ${element}`);
    return [`${victim} waits ${readableNs(waiting)} ns a burst on average, ${named.join(', ')}`];
  });
}

function cause(culprit: string): string {
  if (culprit === ITSELF) return 'behind itself';
  return culprit === BY_REFRESH ? 'for refresh' : `behind ${culprit}`;
}
