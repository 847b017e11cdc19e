/** Columns of the table of tasks, whose times are in microseconds. */
import { BASE, type Column, type Table, column } from './column.js';
import type { IntervalEnd, TaskRow } from './rows.js';

const inUs = (name: string, meaning: string, read: (row: TaskRow) => IntervalEnd): Column<TaskRow> =>
  column(
    'number',
    `${name}_us`,
    meaning,
    (row) => {
      const value = read(row);
      return typeof value === 'number' ? value / 1e6 : value;
    },
    'us',
  );

export const TASKS: Table<TaskRow> = {
  file: 'tasks.csv',
  rowIs: 'a task',
  columns: [
    ...BASE,
    column('text', 'task', 'Name of the task.', (row) => row.task),
    column('count', 'instances', 'Instances triggered inside the measuring window that ended.', (row) => row.instances),
    inUs('mean', 'Mean time from the trigger to the end of the last step.', (row) => row.meanPs),
    inUs('p50', 'Time that 50 % of them do not exceed; empty with fewer than 10 beyond it.', (row) => row.p50Ps),
    inUs('p99', 'Time that 99 % of them do not exceed; empty with fewer than 10 beyond it.', (row) => row.p99Ps),
    inUs('max', 'Longest time seen; not a worst-case bound.', (row) => row.maxPs),
    inUs('deadline', 'Longest time allowed; empty without a deadline.', (row) => row.deadlinePs),
    column(
      'count',
      'deadline_misses',
      'Instances that ended after the deadline, or were under way past it when the run stopped.',
      (row) => row.misses,
    ),
    column(
      'count',
      'dropped',
      'Triggers that were lost because as many were under way as may be.',
      (row) => row.dropped,
    ),
    column('share', 'maintenance_share', 'Share of their time that went to hand-overs: lines and barriers.', (row) => {
      return row.upkeepShare;
    }),
    column('count', 'queued', 'Triggers that waited because as many were under way as may be.', (row) => row.queued),
    column('count', 'unfinished', 'Triggered inside the window and not ended when the run stopped.', (row) => {
      return row.unfinished;
    }),
    inUs(
      'mean_ci95_low',
      'Lower end of the 95 % interval of the mean, on the pooled row; `deterministic` when replications do not differ.',
      (row) => row.meanLowPs,
    ),
    inUs('mean_ci95_high', 'Upper end of the 95 % interval of the mean.', (row) => row.meanHighPs),
    inUs(
      'p99_ci95_low',
      'Lower end of the 95 % interval of p99; empty with fewer than 100 beyond p99.',
      (row) => row.p99LowPs,
    ),
    inUs('p99_ci95_high', 'Upper end of the 95 % interval of p99.', (row) => row.p99HighPs),
  ],
};
