/**
 * Measures how often the intervals hold what is true, and how often a comparison errs: `npm run intervals`, which writes
 * results/coverage.csv, or `npm run intervals -- --quick` for a fifth of it, printed only. Exit code 1 if a share is outside
 * its limits. A run that was stopped goes on where it was, unless the sources have changed.
 */
import { renameSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { SingleBar } from 'cli-progress';
import { Command, InvalidArgumentError } from 'commander';
import { Kept } from './kept.js';
import { performAll } from './processes.js';
import { tableOf, toCsv, toText } from './table.js';
import { FULL, nameOf, QUICK, tasksOf } from './tasks.js';

const RESULTS = fileURLToPath(new URL('../../../results/', import.meta.url));

const program = new Command('intervals')
  .description('measure how often the intervals hold what is true')
  .option('--quick', 'only 400 studies')
  .option('--processes <count>', 'how many run at once', whole, availableParallelism());
program.parse();
const options = program.opts<{ quick?: boolean; processes: number }>();

const extent = options.quick === true ? QUICK : FULL;
const kept = new Kept(`${RESULTS}coverage-so-far.txt`);
const tasks = tasksOf(extent);
const open = tasks.filter((task) => kept.find(nameOf(task)) === undefined);
if (open.length < tasks.length) console.log(`${tasks.length - open.length} of ${tasks.length} are done already`);

const bar = process.stderr.isTTY ? new SingleBar({ format: 'studies {bar} {value} of {total}, {eta} s left' }) : null;
bar?.start(tasks.length, tasks.length - open.length);
await performAll(open, options.processes, (outcome) => {
  kept.keep(outcome);
  bar?.increment();
});
bar?.stop();

const rows = tableOf(
  tasks.map((task) => kept.find(nameOf(task))!),
  extent,
);
console.log(toText(rows));
if (extent === FULL) {
  const file = `${RESULTS}coverage.csv`;
  writeFileSync(`${file}.part`, toCsv(rows));
  renameSync(`${file}.part`, file);
  kept.drop();
  console.log(`\n${file}`);
}
process.exitCode = rows.some(({ verdict }) => verdict === 'fail') ? 1 : 0;

function whole(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1) throw new InvalidArgumentError('write a whole number of at least 1.');
  return value;
}
