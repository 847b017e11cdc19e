import { Command, CommanderError, InvalidArgumentError } from 'commander';
import { formatProblems, type ScenarioError } from '../errors.js';
import type { CommandError } from './command-error.js';
import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import type { Loader } from './loader.js';
import { programVersion } from './version.js';

/**
 * The program: takes the arguments after its own name, answers the exit code. A user's slip becomes a sentence; anything
 * else is a fault of ours and shows its stack.
 */
export async function main(argv: readonly string[], io: Io, loader: Loader): Promise<number> {
  let code: number = ExitCode.done;
  const program = describe(io, loader, (result) => (code = result));
  try {
    await program.parseAsync([...argv], { from: 'user' });
    return code;
  } catch (error) {
    return report(error, argv, io);
  }
}

const WORKERS = 'threads that simulate (default: one a processor; 1: no other than the program itself)';

function describe(io: Io, loader: Loader, finish: (code: number) => void): Command {
  const program = new Command('burstyard')
    .description('Simulates the memory traffic of a chip that joins processors and programmable fabric.')
    .version(programVersion())
    .exitOverride()
    .configureOutput({ writeOut: io.out, writeErr: io.err });
  program
    .command('run')
    .description('simulate a scenario and write its tables')
    .argument('<scenario>', 'scenario file')
    .option('--out <folder>', 'folder for the tables (default: results/ and the name of the scenario)', notEmpty)
    .option('--placement <name...>', 'placements to run (default: all)')
    .option('--seed <text>', 'seed of all random draws, instead of run.seed', notEmpty)
    .option('--replications <count>', 'replications, instead of run.replications', positive)
    .option('--workers <count>', WORKERS, positive)
    .option('--commands', 'also write commands.csv, the DRAM commands of the first replication (at most 1,000,000)')
    .option('--bursts', 'also write bursts.csv, the bursts of the first replication one by one (at most 100,000)')
    .option('--bursts-of <paths...>', "only bursts of these masters, or paths such as 'camera write'")
    .option('--bursts-between <span>', 'only bursts in flight then, such as 1510us..1520us from the start of the run')
    .option('--bursts-slowest <count>', 'only so many, the slowest', positive)
    .option('--wave <file>', 'also write a value change dump of the first replication, for waveform viewers', notEmpty)
    .option('--wave-between <span>', 'what it shows (default: the first 10 us of the measuring window)')
    .action(async (path: string, options) => {
      const { runCommand } = await loader.long(() => import('./run.js'));
      finish(await runCommand(path, options, io));
    });
  program
    .command('compare')
    .description('run two placements on the same random draws until it is clear which is better for what')
    .argument('<scenario>', 'scenario file')
    .option('--placement <names...>', 'the two placements, the baseline first (default: the only two)')
    .option('--against <file>', 'take the second from another scenario file')
    .option('--seed <text>', 'seed of all random draws, instead of run.seed', notEmpty)
    .option('--workers <count>', WORKERS, positive)
    .option('--out <folder>', 'folder for comparison.csv (default: results/ and the name of the scenario)', notEmpty)
    .action(async (path: string, options) => {
      const { compareCommand } = await loader.long(() => import('./compare.js'));
      finish(await compareCommand(path, options, io));
    });
  program
    .command('report')
    .description('make one HTML page of a folder of results')
    .argument('<folder>', 'folder that a command wrote its tables to')
    .option('--out <file>', 'the page (default: report.html in that folder)', notEmpty)
    .action(async (folder: string, options) => {
      const { reportCommand } = await loader.long(() => import('./report.js'));
      finish(await reportCommand(folder, options, io));
    });
  program
    .command('place')
    .description('find where groups and masters attach best, of all that place.may_attach allows')
    .argument('<scenario>', 'scenario file')
    .option('--placement <name>', 'what all assignments are laid over (default: the file without its placements)')
    .option('--seed <text>', 'seed of all random draws, instead of run.seed', notEmpty)
    .option('--replications <count>', 'full length of one assignment, instead of run.replications', positive)
    .option('--workers <count>', WORKERS, positive)
    .option('--whole', 'try all at full length, however many there are')
    .option('--out <folder>', 'folder for place.csv (default: results/ and the name of the scenario)', notEmpty)
    .action(async (path: string, options) => {
      const { placeCommand } = await loader.long(() => import('./place.js'));
      finish(await placeCommand(path, options, io));
    });
  program
    .command('sweep')
    .description('run a scenario over values of its keys, or find where two placements change rank')
    .argument('<scenario>', 'scenario file')
    .requiredOption(
      '--vary <key=values...>',
      "a key and its values: 'KEY=a,b,c', 'KEY=from..to', 'KEY=from..to by step', 'KEY=from..to times factor'",
    )
    .option('--placement <name...>', 'placements to run (default: all)')
    .option('--samples <count>', 'so many points spread evenly over all keys, instead of each combination', positive)
    .option('--crossing <metric>', 'find the values of the key at which two placements change rank by this metric')
    .option('--replications <count>', 'replications at each point, instead of run.replications', positive)
    .option('--seed <text>', 'seed of all random draws, instead of run.seed', notEmpty)
    .option('--workers <count>', WORKERS, positive)
    .option('--out <folder>', 'folder for the tables (default: results/ and the name of the scenario)', notEmpty)
    .option('--resume', 'take what an earlier call that was stopped has finished, and go on')
    .action(async (path: string, options) => {
      const { sweepCommand } = await loader.long(() => import('./sweep.js'));
      finish(await sweepCommand(path, options, io));
    });
  program
    .command('sensitivity')
    .description('what the tightest budget becomes when each of the busiest elements is a tenth faster')
    .argument('<scenario>', 'scenario file')
    .option('--placement <name...>', 'placements to look at (default: all)')
    .option('--budget <name>', 'budget to follow (default: that with the smallest margin)', notEmpty)
    .option('--seed <text>', 'seed of all random draws, instead of run.seed', notEmpty)
    .option('--replications <count>', 'replications of each, instead of run.replications', positive)
    .option('--workers <count>', WORKERS, positive)
    .option('--out <folder>', 'folder for sensitivity.csv (default: results/ and the name of the scenario)', notEmpty)
    .action(async (path: string, options) => {
      const { sensitivityCommand } = await loader.long(() => import('./sensitivity.js'));
      finish(await sensitivityCommand(path, options, io));
    });
  program
    .command('check')
    .description('unloaded latencies, offered load against capacity, and warnings, without simulating')
    .argument('<scenario>', 'scenario file')
    .option('--placement <name...>', 'placements to check (default: all)')
    .action(async (path: string, options) => {
      const { checkCommand } = await loader.short();
      finish(await checkCommand(path, options, io));
    });
  program
    .command('new')
    .description('write a commented scenario to start from')
    .argument('[file]', 'file to write; printed where none is named')
    .action(async (file: string | undefined) => {
      const { newCommand } = await loader.short();
      finish(await newCommand(file, io));
    });
  program
    .command('explain')
    .description('tell what a key of the scenario language means')
    .argument('[key]', 'such as masters.burst; all keys where none is named')
    .action(async (key: string | undefined) => {
      const { explainCommand } = await loader.short();
      finish(await explainCommand(key, io));
    });
  program
    .command('schema')
    .description('print the JSON Schema of scenario files, for editors')
    .action(async () => {
      const { schemaCommand } = await loader.short();
      finish(await schemaCommand(io));
    });
  return program;
}

function report(error: unknown, argv: readonly string[], io: Io): number {
  if (error instanceof CommanderError) return error.exitCode === 0 ? ExitCode.done : ExitCode.usage;
  if (!(error instanceof Error)) return reportFault(error, argv, io);
  if (error.name === 'ScenarioError') return reportProblems(error as ScenarioError, io);
  const code = codeOf(error);
  if (code === undefined) return reportFault(error, argv, io);
  io.err(`${error.message}\n`);
  return code;
}

/**
 * What an error that is the user's to mend ends the program with; undefined for any other. By name: a build has several
 * files with classes of their own, and asking for a class would load it.
 */
function codeOf(error: Error): number | undefined {
  switch (error.name) {
    case 'CommandError':
      return (error as CommandError).exitCode;
    case 'UsageError':
      return ExitCode.usage;
    case 'TooManyValuesError':
      return ExitCode.problem;
    case 'Stopped':
      return ExitCode.stopped;
    default:
      return undefined;
  }
}

function reportProblems({ problems, sources }: ScenarioError, io: Io): number {
  io.err(`${formatProblems(problems, sources)}\n`);
  io.err(`${problems.length} ${problems.length === 1 ? 'problem' : 'problems'}\n`);
  return ExitCode.problem;
}

function reportFault(error: unknown, argv: readonly string[], io: Io): number {
  io.err(`This is a fault of burstyard ${programVersion()}, not of your scenario. It happened in:\n`);
  io.err(`  burstyard ${argv.join(' ')}\n`);
  io.err(`${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`);
  return ExitCode.fault;
}

function positive(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1) throw new InvalidArgumentError('write a whole number of at least 1.');
  return value;
}

function notEmpty(text: string): string {
  if (text === '') throw new InvalidArgumentError('it must not be empty.');
  return text;
}
