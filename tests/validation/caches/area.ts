import { type Area, type Comparison, judge } from '../outside-check.js';
import { countRows } from './counts.js';
import { ratioChecks, ratioKeys } from './hit-ratios.js';
import { invariantChecks } from './random-traffic.js';
import { stackChecks, stepChecks, traceRows } from './traces.js';

/** Keys of the rows of the table of caches that are compared when all are. */
export const comparedKeys = (): string[] => [
  ...[...traceRows, ...countRows].map(({ key }) => key),
  ...ratioKeys('full'),
];

/** Real tags before a core and behind a coherent port: traces, hit ratios, inclusion and MESI. */
export const caches: Area = {
  name: 'caches',
  title: 'traces step by step, exact hit counts, hit ratios by theory, inclusion and MESI under random traffic',
  run(depth, progress) {
    const exact: Comparison[] = [
      ...stepChecks(),
      ...[...traceRows, ...countRows].flatMap((planned) => planned.run()),
      ...stackChecks(depth === 'quick' ? 2000 : 20_000),
    ];
    progress(0.1);
    const coherent = invariantChecks(depth, (share) => progress(0.1 + 0.2 * share));
    const ratios = ratioChecks(depth, (share) => progress(0.3 + 0.7 * share));
    return [...exact, ...coherent, ...ratios].map((comparison) => judge('caches', comparison));
  },
};
