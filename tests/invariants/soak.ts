/**
 * Tries the invariants on any number of random platforms: `npm run soak -- --platforms N`, with `--seed S` for others than
 * the usual ones. The first failure is made smaller and saved as a scenario, results/soak-failure.yaml; exit code 1.
 * `npm run soak -- --file FILE` looks at a saved one again.
 */
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { SingleBar } from 'cli-progress';
import { Command, InvalidArgumentError } from 'commander';
import { formatProblems, ScenarioError } from '../../src/errors.js';
import { INVARIANTS } from './all.js';
import { Coverage } from './coverage.js';
import type { Failure } from './invariant.js';
import { recheck, soak } from './soak-run.js';

const FAILURE = fileURLToPath(new URL('../../results/soak-failure.yaml', import.meta.url));

const program = new Command('soak')
  .description('try the invariants on random platforms')
  .option('--platforms <count>', 'how many to try', whole, 1000)
  .option('--seed <number>', 'where the random platforms start', whole, 1)
  .option('--invariant <name...>', `only these: ${INVARIANTS.map(({ name }) => name).join(', ')}`)
  .option('--out <file>', 'where a failure is saved', FAILURE)
  .option('--file <scenario>', 'look at this scenario instead');
program.parse();
const options = program.opts<{ platforms: number; seed: number; invariant?: string[]; out: string; file?: string }>();
const invariants = INVARIANTS.filter(({ name }) => options.invariant?.includes(name) ?? true);
process.exitCode = (options.file === undefined ? trySome() : lookAt(options.file)) ? 0 : 1;

function trySome(): boolean {
  const { platforms, seed, out } = options;
  const coverage = new Coverage();
  const bar = process.stderr.isTTY
    ? new SingleBar({ format: '{state} {bar} {value} of {total} platforms, {eta} s left' })
    : null;
  bar?.start(platforms, 0, { state: 'trying' });
  const holds = soak({
    platforms,
    seed,
    invariants,
    onPlatform: (system, count) => {
      coverage.add(system);
      bar?.update(count);
    },
    onFailure: ({ invariant }) => bar?.update({ state: `‘${invariant}’ fails, making it smaller` }),
    say: (line) => {
      bar?.stop();
      console.log(line);
    },
    save: (text) => save(out, text),
  });
  bar?.stop();
  if (holds) console.log(`${platforms} platforms from seed ${seed}: every invariant holds`);
  else console.log(`saved as ${out}`);
  console.log(`\n${coverage.text()}`);
  return holds;
}

function lookAt(file: string): boolean {
  const failure = judged(file);
  if (failure === null) {
    console.log(`${file}: every invariant holds`);
    return true;
  }
  console.log(`${file} breaks ‘${failure.invariant}’:`);
  for (const breach of failure.breaches) console.log(`  ${breach}`);
  return false;
}

/** What a scenario breaks; ends the process, with a sentence for each of its mistakes, where it cannot be read. */
function judged(file: string): Failure | null {
  try {
    return recheck(readFileSync(file, 'utf8'), invariants, file);
  } catch (error) {
    if (!(error instanceof Error)) throw error;
    const isScenario = error instanceof ScenarioError;
    console.error(isScenario ? formatProblems(error.problems, error.sources) : `${file}: ${error.message}`);
    process.exit(2);
  }
}

function save(file: string, text: string): void {
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(`${file}.part`, text);
  renameSync(`${file}.part`, file);
}

function whole(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1) throw new InvalidArgumentError('write a whole number of at least 1.');
  return value;
}
