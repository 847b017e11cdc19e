/**
 * Holds the model against numbers from outside the project and writes results/validation.csv: `npm run validate`, or
 * `npm run validate -- --area NAME…` for some areas, printed only. Exit code 1 if a check fails.
 */
import { mkdirSync, renameSync, statSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Command } from 'commander';
import { SingleBar } from 'cli-progress';
import { AREAS } from './areas.js';
import type { Area, OutsideCheck } from './outside-check.js';
import { summaryOf, toCsv } from './report.js';

const RESULTS = fileURLToPath(new URL('../../results/', import.meta.url));
const names = AREAS.map(({ name }) => name);

const program = new Command('validate')
  .description('hold the model against published numbers, check by check')
  .option('--area <name...>', `only these areas: ${names.join(', ')}`)
  .option('--quick', 'only the part that runs in the tests')
  .option('--out <file>', 'write the table to this file');
program.parse();
const options = program.opts<{ area?: string[]; quick?: boolean; out?: string }>();

const unknown = options.area?.find((name) => !names.includes(name));
if (unknown !== undefined) {
  console.error(`no area ${unknown}; write one of ${names.join(', ')}`);
  process.exit(2);
}
const chosen = AREAS.filter(({ name }) => options.area?.includes(name) ?? true);
const whole = chosen.length === AREAS.length && options.quick !== true;
const checks = chosen.flatMap((area) => runArea(area));
console.log(summaryOf(chosen, checks));
const file = options.out ?? (whole ? `${RESULTS}validation.csv` : null);
if (file !== null) {
  mkdirSync(dirname(file), { recursive: true });
  write(file, toCsv(checks));
  console.log(`\n${file}`);
}
process.exitCode = checks.some(({ verdict }) => verdict === 'fail') ? 1 : 0;

/** Runs one area, with a line of progress on a terminal. */
function runArea(area: Area): OutsideCheck[] {
  const bar = process.stderr.isTTY
    ? new SingleBar({ format: `${area.name} {bar} {percentage} %, {eta} s left` })
    : null;
  bar?.start(1000, 0);
  const found = area.run(options.quick === true ? 'quick' : 'full', (share) => bar?.update(Math.floor(share * 1000)));
  bar?.stop();
  return found;
}

/** Writes a table whole or not at all; what is no regular file, such as a device, is written to as it is. */
function write(path: string, text: string): void {
  const special = statSync(path, { throwIfNoEntry: false })?.isFile() === false;
  writeFileSync(special ? path : `${path}.part`, text);
  if (!special) renameSync(`${path}.part`, path);
}
