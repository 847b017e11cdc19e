import { type Area, type Comparison, judge, type OutsideCheck, type Relation } from '../outside-check.js';
import { type ReferenceRow, referenceTable } from '../reference-table.js';
import type { Measures } from './measures.js';
import { NOT_EXPRESSED } from './not-expressed.js';
import { order } from './order.js';
import { outstanding } from './outstanding.js';
import { beatChecks, countChecks, legalChecks, sourceOf, splitChecks } from './tables.js';
import { transfers } from './transfers.js';

const table = (name: string): ReferenceRow[] => referenceTable(new URL(`data/${name}.csv`, import.meta.url));

/** The single numbers that examples state. */
export const EXAMPLES = table('examples');

/** How those are measured that the model can express. */
export const MEASURES: Measures = { ...transfers, ...order, ...outstanding };

/** Each fact of the AXI protocol, by its worked examples, on simulated masters, ports and memories. */
export const bus: Area = {
  name: 'bus',
  title: 'AXI bursts, beats, lanes, order and outstanding reads: each worked example',
  run(_depth, progress) {
    const parts = [exampleChecks(), splitChecks(table('splits')), countChecks(table('counts'))];
    progress(0.5);
    parts.push(beatChecks(table('beats')), legalChecks(table('legal')));
    progress(1);
    return parts.flat().map((comparison): OutsideCheck => judge('bus', comparison));
  },
};

function exampleChecks(): Comparison[] {
  return EXAMPLES.filter((row) => !NOT_EXPRESSED.has(row.text('example'))).map((row) => {
    const example = row.text('example');
    return {
      check: `${example}: ${row.text('what')}`,
      source: sourceOf(row),
      unit: row.text('unit'),
      expected: row.number('expected'),
      measured: MEASURES[example]?.() ?? NaN,
      relation: row.text('relation') as Relation,
    };
  });
}
