/** Why cells are empty, in sentences: one for each kind of cell and reason, not one a path. */
import type { NoteReason } from '../measure/note.js';
import type { CellNote, LatencyRow, TaskRow } from '../measure/tables/rows.js';
import { decimal, grouped, readableSpan } from './format.js';

const SUBJECTS: Record<CellNote['subject'], string> = {
  p50: 'p50',
  p90: 'p90',
  p95: 'p95',
  p99: 'p99',
  p99_9: 'p99.9',
  p99_99: 'p99.99',
  mean_ci95: 'the interval of the mean',
  p99_ci95: 'the interval of p99',
};

/** What is missing, as `have` against `need`. */
function because(note: CellNote): string {
  const have = grouped(note.have ?? 0);
  const need = grouped(note.need ?? 0);
  const reasons: Record<NoteReason, string> = {
    no_samples: 'nothing completed',
    few_beyond: `has ${have} samples, needs ${need}`,
    few_clusters: `rests on ${have} replications or batches, needs ${need}`,
    unfinished: `${have} had not come back at the end and could change it; allow a longer drain`,
    deterministic: 'nothing differs between replications',
    correlated_batches: `the batches of one replication depend on each other (correlation ${decimal(note.have ?? 0, 2)})`,
    short_batches:
      note.need === null
        ? 'no batch is long enough while an element on the path is busy all the time'
        : `a batch has ${have} samples, needs ${need} at this load`,
    uneven: 'replications hold too different numbers of samples',
  };
  return reasons[note.reason];
}

/** A row whose cells may be empty: of a path, or of a task. */
type NotedRow = LatencyRow | TaskRow;

/**
 * The sentences for the rows given, in order of first appearance; the worst case of each is named, of paths and of tasks.
 * Rows in which nothing completed are left out: their state or their number of instances says so.
 */
export function noteSentences(rows: readonly NotedRow[]): string[] {
  const found = new Map<string, { row: NotedRow; note: CellNote; rows: number }>();
  for (const row of rows) {
    for (const note of row.notes) {
      if (note.reason === 'no_samples') continue;
      const key = `${'task' in row} ${note.subject} ${note.reason}`;
      const known = found.get(key);
      if (known === undefined) found.set(key, { row, note, rows: 1 });
      else {
        known.rows++;
        if ((note.neededPs ?? 0) > (known.note.neededPs ?? 0)) Object.assign(known, { row, note });
      }
    }
  }
  return [...found.values()].map(({ row, note, rows: count }) => sentence(row, note, count));
}

function sentence(row: NotedRow, note: CellNote, count: number): string {
  const where = 'task' in row ? `task ${row.task}` : `${row.master} ${row.operation} (${row.level})`;
  const others = count === 1 ? '' : ` and ${grouped(count - 1)} more`;
  const remedy = note.neededPs === null ? '' : `; measure for ${readableSpan(note.neededPs)} instead`;
  return `${SUBJECTS[note.subject]} is empty for ${where}${others}: ${because(note)}${remedy}.`;
}
