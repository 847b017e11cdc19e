import type { CommandLog } from '../measure/command-log.js';
import type { ReplicationResult, StudyResult, Warning } from '../measure/results.js';
import type { Scenario, SystemSpec } from '../scenario/scenario.js';
import { Alone, type Crew, type Job } from './crew.js';
import { isOverloaded, loadOf } from './offered-load.js';
import { warmUpOf } from './warm-up.js';

/** What the caller may choose over the scenario. */
export interface StudyChoice {
  /** Placements to run, by name, in the scenario's order; empty: all. */
  readonly placements: readonly string[];
  readonly seed?: string;
  readonly replications?: number;
  /** Version of this program, for the result. */
  readonly version: string;
}

export interface StudyOptions extends StudyChoice {
  /** Takes the DRAM commands of each placement's first replication. */
  readonly commandLog?: CommandLog;
  /** Told now and then how much of the whole study is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  /** Who simulates; this thread where nobody is named. */
  readonly crew?: Crew;
}

/** What there is to simulate, and what becomes of it. */
export interface StudyPlan {
  readonly jobs: readonly Job[];
  /** The study, from the results of the jobs in their order. */
  finish(results: readonly ReplicationResult[]): StudyResult;
}

/** Runs the placements of a scenario, each as many times as it asks, on the same random draws. */
export async function runStudy(scenario: Scenario, options: StudyOptions): Promise<StudyResult> {
  const { crew = new Alone(), commandLog, onProgress } = options;
  const plan = planStudy(scenario, options);
  if (commandLog === undefined) return plan.finish(await crew.run(plan.jobs, onProgress));
  const results = await withCommands(plan.jobs, crew, commandLog, onProgress);
  const study = plan.finish(results);
  return { ...study, warnings: [...study.warnings, ...commandLog.warnings()] };
}

/** Finds the warm-up, and all replications that the study takes. */
export function planStudy(scenario: Scenario, { placements, seed, replications, version }: StudyChoice): StudyPlan {
  const systems = chosen(scenario, placements);
  const root = seed ?? systems[0]!.run.seed;
  const { warmupPs, settled } = warmUpOf(systems, root);
  const jobs = systems.flatMap((system) => jobsOf(system, root, replications ?? system.run.replications, warmupPs));
  return {
    jobs,
    finish: (results) => ({
      scenario: scenario.name,
      title: scenario.title,
      seed: root,
      version,
      warmupPs: settled ? warmupPs : null,
      placements: systems.map((system) => ({
        placement: system.placement,
        budgets: system.budgets,
        replications: results.filter((_, place) => jobs[place]!.system === system),
      })),
      warnings: [
        ...scenario.notes.map((text) => ({ text, count: 1 })),
        ...(settled ? [] : [{ text: 'the pilot run had not settled: state a longer run.warmup', count: 1 }]),
        ...systems.flatMap(overloads),
      ],
    }),
  };
}

function jobsOf(system: SystemSpec, seed: string, replications: number, warmupPs: number): Job[] {
  const numbers = Array.from({ length: replications }, (_, before) => before + 1);
  return numbers.map((replication) => ({ system, seed, replication, replications, warmupPs }));
}

/** The first replications run on this thread, where the log is. */
async function withCommands(
  jobs: readonly Job[],
  crew: Crew,
  commandLog: CommandLog,
  onProgress: StudyOptions['onProgress'],
): Promise<ReplicationResult[]> {
  const logged = jobs.filter(({ replication }) => replication === 1);
  const others = jobs.filter(({ replication }) => replication > 1);
  const share = logged.length / jobs.length;
  const first = await new Alone({ commandLog }).run(logged, (done) => onProgress?.(done * share));
  const rest = await crew.run(others, (done) => onProgress?.(share + done * (1 - share)));
  return jobs.map(({ replication }) => (replication === 1 ? first.shift()! : rest.shift()!));
}

/** The systems of the placements named; all where none is. Names are checked by the caller. */
export function chosen(scenario: Scenario, placements: readonly string[]): SystemSpec[] {
  if (placements.length === 0) return scenario.systems;
  return scenario.systems.filter((system) => placements.includes(system.placement));
}

function overloads(system: SystemSpec): Warning[] {
  return loadOf(system)
    .channels.filter(isOverloaded)
    .map((load) => {
      const percent = Math.round((100 * load.offeredBytesPerS) / load.capacityBytesPerS);
      const users = load.users.map(({ master }) => master).join(', ');
      const text = `placement ${system.placement}: ${load.element} (${load.channel}) is asked for ${percent} % of what it can carry, by ${users}`;
      return { text, count: 1 };
    });
}
