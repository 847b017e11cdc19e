import type { Problem } from '../errors.js';
import { problemAt } from './problem.js';
import type { SystemSpec } from './scenario.js';
import { child, shown, type Tree } from './tree.js';

/** Most rows of timeline.csv, or of queues.csv, of one placement. */
export const MOST_TIMELINE_ROWS = 100_000;

/** Reports windows so narrow that their tables would be too long to be of use. */
export function checkTimeline(tree: Tree | undefined, system: SystemSpec, problems: Problem[]): void {
  const { timeline, durationPs } = system.run;
  const at = child(tree, 'timeline');
  if (typeof timeline !== 'number' || at === undefined) return;
  // a coherence unit has queues for its way past the tags as well
  const units = system.elements.filter(({ kind }) => kind === 'coherence').length;
  const perWindow = Math.max(1, system.masters.length, system.elements.length + units);
  const rows = Math.ceil(durationPs / timeline) * perWindow;
  if (rows <= MOST_TIMELINE_ROWS) return;
  const message = `must give at most ${MOST_TIMELINE_ROWS} rows over the duration, gives ${rows}`;
  const leastNs = Math.ceil(durationPs / Math.floor(MOST_TIMELINE_ROWS / perWindow) / 1000);
  problems.push(problemAt(at.place, 'out_of_range', message, shown(at), `write '${leastNs} ns' or more, or 'off'`));
}
