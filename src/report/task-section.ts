/** Whether work that crosses masters is done in time: tasks, their deadlines and what hand-overs cost. */
import { type Facts, pooledOf } from './facts.js';
import { fixed, grouped } from '../output/format.js';
import { shareText } from './figures.js';
import { cellMarkup, markup, type Markup } from './html.js';
import { numberIn, textIn } from './sheet.js';

const TIMES = ['mean_us', 'p50_us', 'p99_us', 'max_us', 'deadline_us'] as const;

export function taskSection(facts: Facts): Markup | null {
  const rows = pooledOf(facts, 'tasks.csv');
  if (rows.length === 0) return null;
  const heads = [
    'task',
    'placement',
    'done',
    'mean',
    'half',
    'p99',
    'longest',
    'deadline',
    'missed',
    'dropped',
    'spent on hand-overs',
  ];
  return markup`<p>From the trigger of a task to the end of its last step, in microseconds. What is spent on hand-overs is what cleaning and invalidating of caches, and barriers, cost.</p>
    <div class="scroll" tabindex="0" role="group" aria-label="tasks, scrolls sideways"><table class="sortable" data-file="task-times.csv"><caption>Tasks</caption>
      <thead><tr>${heads.map((head) => markup`<th scope="col">${head}</th>`)}</tr></thead>
      <tbody>${rows.map((row) => {
        const times = TIMES.map((column) => timeText(numberIn(row, column)));
        const [done, ...counts] = ['instances', 'deadline_misses', 'dropped'].map((column) =>
          countText(numberIn(row, column)),
        );
        const cells = [done!, ...times, ...counts, shareText(numberIn(row, 'maintenance_share'))];
        return markup`<tr><th scope="row">${textIn(row, 'task')}</th><td>${textIn(row, 'placement')}</td>${cells.map(cellMarkup)}</tr>`;
      })}</tbody></table></div>`;
}

const timeText = (us: number | null): string => (us === null ? '–' : fixed(us, 2));
const countText = (count: number | null): string => (count === null ? '–' : grouped(count));
