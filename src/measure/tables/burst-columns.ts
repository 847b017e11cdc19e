/** The columns of bursts.csv. */
import { BASE, type Column, type Table, column } from './column.js';
import { STAGES } from '../journey/stage.js';
import type { BurstRow } from './rows.js';

const stageColumns: readonly Column<BurstRow>[] = STAGES.map(({ name, meaning }, stage) =>
  column('time', `${name}_ns`, `Time in this stage. ${meaning}`, (row) => row.stagesPs?.[stage] ?? null),
);

export const BURSTS: Table<BurstRow> = {
  file: 'bursts.csv',
  rowIs: 'a burst',
  columns: [
    ...BASE,
    column('text', 'master', 'Who issues.', (row) => row.master),
    column('text', 'port', 'Where the master is attached.', (row) => row.port),
    column('text', 'target', 'The memory or device at the end of the path.', (row) => row.target),
    column('text', 'operation', 'read or write.', (row) => row.operation),
    column('count', 'number', 'Number of the burst within its master and operation, from 0.', (row) => row.number),
    column('count', 'address', 'First byte, from the start of the memory.', (row) => row.address),
    column('count', 'bytes', 'Its bytes.', (row) => row.bytes, 'bytes'),
    column('time', 'wanted_ns', 'When it was wanted, from the start of the run, warm-up included.', (row) => {
      return row.wantedPs;
    }),
    column(
      'time',
      'offered_ns',
      "When its master first presented it; empty where a core's own cache answered it.",
      (row) => row.offeredPs,
    ),
    column('time', 'accepted_ns', 'When the port took it.', (row) => row.acceptedPs),
    column('time', 'done_ns', 'When it was done.', (row) => row.donePs),
    column('time', 'latency_ns', 'From wanted to done.', (row) => row.donePs - row.wantedPs),
    ...stageColumns,
    column(
      'time',
      'longest_wait_ns',
      'Of its waiting, the part that is due to one culprit at one element, where that is largest.',
      (row) => row.longestWaitPs,
    ),
    column('text', 'longest_wait_for', 'That culprit: a master, (itself) or (refresh).', (row) => row.waitsFor),
    column('text', 'longest_wait_at', 'That element.', (row) => row.waitsAt),
  ],
};
