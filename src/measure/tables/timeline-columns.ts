/** The columns of the tables that show a run's course over time. */
import { BASE, type Column, type Table, column } from './column.js';
import type { QueueRow, TimelineRow } from './rows.js';

const WINDOW_START: Column<TimelineRow | QueueRow> = column(
  'number',
  'window_start_us',
  'Start of the window, from the start of the run, warm-up included.',
  (row) => row.startPs / 1e6,
  'us',
);

export const TIMELINE: Table<TimelineRow> = {
  file: 'timeline.csv',
  rowIs: 'a window of time and a master',
  columns: [
    ...BASE,
    WINDOW_START,
    column('text', 'master', 'Who issues.', (row) => row.master),
    column(
      'rate',
      'read_mb_per_s',
      'Bytes of reads that moved in the window per second, in 10^6 bytes.',
      (row) => row.readBytesPerS,
    ),
    column('rate', 'write_mb_per_s', 'The same of writes.', (row) => row.writeBytesPerS),
    column(
      'time',
      'mean_latency_ns',
      'Mean latency, wanted to done, of the bursts that were wanted in the window.',
      (row) => row.meanPs,
    ),
    column('time', 'max_latency_ns', 'The largest of these.', (row) => row.maxPs),
  ],
};

export const QUEUES: Table<QueueRow> = {
  file: 'queues.csv',
  rowIs: 'a window of time and an element',
  columns: [
    ...BASE,
    WINDOW_START,
    column('text', 'element', 'Name of the element.', (row) => row.element),
    column('number', 'mean_depth', 'Mean number of bursts in its queues, over the window.', (row) => row.meanDepth),
    column('count', 'max_depth', 'Most of them at once.', (row) => row.maxDepth),
  ],
};
