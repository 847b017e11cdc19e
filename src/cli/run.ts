import { join } from 'node:path';
import type { Logs } from '../measure/logs/logging-recorder.js';
import type { BudgetRow } from '../measure/tables/rows.js';
import type { Scenario } from '../scenario/scenario.js';
import type { Crew } from '../study/crew.js';
import { commandWords } from './command-words.js';
import { withCrew } from './crew.js';
import type { Io } from './io.js';
import { ExitCode } from './exit-code.js';
import { checkPlacements, loadScenario } from './load.js';
import { askedLogs, type LogOptions, logOptions } from './logs.js';
import { withProgress } from './progress.js';
import { sourceOf } from './source.js';
import { programVersion } from './version.js';
import { writeOrSay } from './write.js';

export interface RunOptions extends LogOptions {
  out?: string;
  placement?: string[];
  seed?: string;
  replications?: number;
  workers?: number;
}

/** Scenario → tables: simulates, writes the tables, and ends with a summary. */
export async function runCommand(path: string, options: RunOptions, io: Io): Promise<number> {
  // Ctrl-C is heard until the last table is written
  return withCrew(options.workers, io, (crew) => runWith(crew, path, options, io));
}

async function runWith(crew: Crew, path: string, options: RunOptions, io: Io): Promise<number> {
  const { scenario, bytes } = await loadScenario(path, io);
  checkPlacements(scenario, options.placement ?? []);
  const { TABLES } = await import('../measure/tables/columns.js');
  const { toCsv } = await import('../output/csv.js');
  const { commandLine } = await import('../output/command-line.js');
  const { manifestText } = await import('../output/manifest.js');
  const { platformFacts } = await import('../output/platform.js');
  const { budgetSentences } = await import('../output/budgets.js');
  const { noteSentences } = await import('../output/notes.js');
  const { summary } = await import('../output/summary.js');
  const { studyWarnings } = await import('../measure/results.js');

  const asked = await askedLogs(options, scenario, io);
  const folder = options.out ?? join('results', scenario.name);
  // before the work, so that a folder that cannot be written costs no time
  writeOrSay(join(folder, 'manifest.json'), '{ "state": "running" }\n', io);
  const started = io.nowMs();
  const { study, tables } = await simulate(crew, scenario, options, asked.logs, io).catch((error: unknown) => {
    if (error instanceof Error && error.name === 'Stopped') {
      writeOrSay(join(folder, 'manifest.json'), '{ "state": "stopped" }\n', io);
    }
    throw error;
  });
  writeOrSay(join(folder, TABLES.latency.file), toCsv(TABLES.latency, tables.latency), io);
  writeOrSay(join(folder, TABLES.distribution.file), toCsv(TABLES.distribution, tables.distribution), io);
  writeOrSay(join(folder, TABLES.resources.file), toCsv(TABLES.resources, tables.resources), io);
  writeOrSay(join(folder, TABLES.memory.file), toCsv(TABLES.memory, tables.memory), io);
  writeOrSay(join(folder, TABLES.cache.file), toCsv(TABLES.cache, tables.cache), io);
  writeOrSay(join(folder, TABLES.stages.file), toCsv(TABLES.stages, tables.stages), io);
  writeOrSay(join(folder, TABLES.blame.file), toCsv(TABLES.blame, tables.blame), io);
  if (tables.timeline.length > 0) {
    writeOrSay(join(folder, TABLES.timeline.file), toCsv(TABLES.timeline, tables.timeline), io);
    writeOrSay(join(folder, TABLES.queues.file), toCsv(TABLES.queues, tables.queues), io);
  }
  writeOrSay(join(folder, TABLES.tasks.file), toCsv(TABLES.tasks, tables.tasks), io);
  writeOrSay(join(folder, TABLES.budgets.file), toCsv(TABLES.budgets, tables.budgets), io);
  asked.write(folder);
  const runs = study.placements.flatMap((placement) => placement.replications);
  const finished = Math.max(...study.placements.map(({ replications }) => replications.length));
  const ran = study.placements.map((placement) => placement.placement);
  const manifest = manifestText({
    ...sourceOf(path, bytes),
    version: study.version,
    scenario: scenario.name,
    title: scenario.title,
    command: commandLine(wordsOf(path, study.stopped ? { ...options, replications: finished } : options)),
    placements: ran,
    platforms: scenario.systems.filter(({ placement }) => ran.includes(placement)).map(platformFacts),
    seed: study.seed,
    replications: study.placements[0]!.replications.length,
    simulatedPs: runs.reduce((sum, run) => sum + run.simulatedPs, 0),
    wallMs: io.nowMs() - started,
    events: runs.reduce((sum, run) => sum + run.events, 0),
    warnings: studyWarnings(study),
    notes: [
      ...noteSentences([...tables.latency, ...tables.tasks].filter((row) => row.replication === 'all')),
      ...budgetSentences(tables.budgets),
    ],
  });
  writeOrSay(join(folder, 'manifest.json'), manifest, io);
  io.out(summary(study, tables, { width: io.columns ?? 100, paint: io.paint }));
  io.out(`\nTables in ${folder}${asked.waveFile === null ? '' : `, waves in ${asked.waveFile}`}\n`);
  if (study.stopped) {
    io.err(`stopped: the tables are of the ${finished} replications that were finished\n`);
    return ExitCode.stopped;
  }
  return exitCodeOf(tables.budgets);
}

/** The command that gives the same tables; where they are written makes no difference. */
function wordsOf(path: string, options: RunOptions): string[] {
  const { placement, seed, replications } = options;
  return commandWords('run', path, { placement, seed, replications, ...logOptions(options) });
}

/** A budget missed weighs more than one that is not decided; no misses at all are never shown, so never decided. */
function exitCodeOf(budgets: readonly BudgetRow[]): number {
  const verdicts = budgets.map(({ verdict }) => verdict);
  if (verdicts.includes('missed')) return ExitCode.problem;
  return verdicts.includes('undecided') || verdicts.includes('none') ? ExitCode.undecided : ExitCode.done;
}

async function simulate(
  crew: Crew,
  scenario: Scenario,
  { placement = [], seed, replications }: RunOptions,
  logs: Logs,
  io: Io,
) {
  const { runStudy } = await import('../study/run-study.js');
  const { poolStudy } = await import('../measure/tables/pool.js');
  return withProgress(io, scenario.name, async (onProgress) => {
    const study = await runStudy(scenario, {
      placements: placement,
      version: programVersion(),
      crew,
      onProgress,
      ...(seed === undefined ? {} : { seed }),
      ...(replications === undefined ? {} : { replications }),
      logs,
    });
    return { study, tables: poolStudy(study) };
  });
}
