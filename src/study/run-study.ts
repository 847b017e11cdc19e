import type { Logs } from '../measure/logs/logging-recorder.js';
import { mergeWarnings, type ReplicationResult, type StudyResult, type Warning } from '../measure/results.js';
import type { Scenario, SystemSpec } from '../scenario/scenario.js';
import { chosen } from './chosen.js';
import { Alone, type Crew, type Job, type Kept, keptOf, Stopped } from './crew.js';
import { isOverloaded, loadOf } from './offered-load.js';
import { type WarmUp, warmUpOf } from './warm-up.js';

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
  /** What each placement's first replication is written down in. */
  readonly logs?: Logs;
  /** Told now and then how much of the whole study is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  /** Who simulates; this thread where nobody is named. */
  readonly crew?: Crew;
}

/** What there is to simulate, and what becomes of it. */
export interface StudyPlan {
  readonly jobs: readonly Job[];
  /** The study, from the results of the jobs in their order; those that are missing were stopped. */
  finish(results: readonly (ReplicationResult | null)[]): StudyResult;
}

/**
 * Runs the placements of a scenario, each as many times as it asks, on the same random draws. Where the user stops it, the
 * study is that of the replications which all placements have finished; with none of them it fails with `Stopped`.
 */
export async function runStudy(scenario: Scenario, options: StudyOptions): Promise<StudyResult> {
  const { crew = new Alone(), logs = {}, onProgress } = options;
  const { systems, seed } = choiceOf(scenario, options);
  const warmUp = await warmUpOf(systems, seed, (pilots) => crew.settle(pilots));
  const plan = planStudy(scenario, options, warmUp);
  const kept = Object.values(logs);
  const { results } =
    kept.length === 0
      ? await keptOf(crew.run(plan.jobs, onProgress))
      : await withLogs(plan.jobs, crew, logs, onProgress);
  const study = plan.finish(results);
  return { ...study, warnings: mergeWarnings([study.warnings, ...kept.map((log) => log.warnings())]) };
}

/** What is run, with the seed of all draws. */
export function choiceOf(
  scenario: Scenario,
  { placements, seed }: StudyChoice,
): { systems: SystemSpec[]; seed: string } {
  const systems = chosen(scenario, placements);
  return { systems, seed: seed ?? systems[0]!.run.seed };
}

/** All replications that a study takes: the first of each placement, then the second of each. */
export function planStudy(scenario: Scenario, choice: StudyChoice, { warmupPs, settled }: WarmUp): StudyPlan {
  const { systems, seed } = choiceOf(scenario, choice);
  const askedOf = ({ run }: SystemSpec): number => choice.replications ?? run.replications;
  const asked = Math.max(...systems.map(askedOf));
  const numbers = Array.from({ length: asked }, (_, before) => before + 1);
  const jobs = numbers.flatMap((replication) =>
    systems
      .filter((system) => replication <= askedOf(system))
      .map((system) => ({ system, seed, replication, replications: askedOf(system), warmupPs })),
  );
  return {
    jobs,
    finish(results) {
      // the first job that was not finished: replications before its own are there of every placement
      const open = jobs.findIndex((_, place) => (results[place] ?? null) === null);
      const done = open === -1 ? asked : jobs[open]!.replication - 1;
      if (done === 0) throw new Stopped();
      const stopped = done < asked;
      return {
        scenario: scenario.name,
        title: scenario.title,
        seed,
        version: choice.version,
        warmupPs: settled ? warmupPs : null,
        stopped,
        placements: systems.map((system) => ({
          placement: system.placement,
          budgets: system.budgets,
          replications: jobs.flatMap((job, place) =>
            job.system === system && job.replication <= done ? [results[place]!] : [],
          ),
        })),
        warnings: [
          ...(stopped ? [{ text: `stopped after ${done} of ${asked} replications`, count: 1 }] : []),
          ...scenario.notes.map((text) => ({ text, count: 1 })),
          ...(settled ? [] : [{ text: 'the pilot run had not settled: state a longer run.warmup', count: 1 }]),
          ...systems.flatMap(overloads),
        ],
      };
    },
  };
}

/** The first replications run on this thread, where the logs are. */
async function withLogs(
  jobs: readonly Job[],
  crew: Crew,
  logs: Logs,
  onProgress: StudyOptions['onProgress'],
): Promise<Pick<Kept, 'results'>> {
  const logged = jobs.filter(({ replication }) => replication === 1);
  const others = jobs.filter(({ replication }) => replication > 1);
  const share = logged.length / jobs.length;
  const first = await keptOf(crew.run(logged, (done) => onProgress?.(done * share), logs));
  if (first.stop !== null) return first;
  const rest = await keptOf(crew.run(others, (done) => onProgress?.(share + done * (1 - share))));
  return { results: [...first.results, ...rest.results] };
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
