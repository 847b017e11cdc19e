import type { TaskRow } from '../measure/tables/rows.js';
import { fixed, grouped, percent, readableNs } from './format.js';
import type { Look } from './look.js';
import { left, right, textTable } from './text-table.js';

const NONE = '-';

/** How the tasks of a placement fared; empty where there are none. */
export function taskTable(rows: readonly TaskRow[], { width, paint }: Look): string {
  if (rows.length === 0) return '';
  const heads = ['ended', 'mean', 'p50', 'p99', 'max', 'deadline', 'missed', 'dropped', 'hand-overs'];
  const columns = [left('task'), ...heads.map(right)];
  const cells = rows.map((row) => [
    row.task,
    grouped(row.instances),
    time(row.meanPs),
    time(row.p50Ps),
    time(row.p99Ps),
    time(row.maxPs),
    time(row.deadlinePs),
    row.misses === null ? NONE : bad(row.misses, paint),
    bad(row.dropped, paint),
    row.upkeepShare === null ? NONE : percent(row.upkeepShare),
  ]);
  const table = textTable(columns, cells, width, (text) => paint('faint', text));
  return `${paint('heading', 'Tasks (us, from trigger to the end of the last step)')}\n${table}`;
}

/** In us, to 10 ns where it is short. */
const time = (ps: number | null): string => (ps === null ? NONE : ps < 1e8 ? fixed(ps / 1e6, 2) : readableNs(ps / 1e3));

const bad = (count: number, paint: Look['paint']) =>
  count === 0 ? '0' : { text: grouped(count), paint: (text: string) => paint('bad', text) };
