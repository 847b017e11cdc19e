import type { CommandLog } from '../measure/command-log.js';
import type { PlacementResult, StudyResult, Warning } from '../measure/results.js';
import type { Scenario, SystemSpec } from '../scenario/scenario.js';
import { replicate } from './replicate.js';
import { isOverloaded, loadOf } from './offered-load.js';
import { warmUpOf } from './warm-up.js';

/** What the caller may choose over the scenario. */
export interface StudyOptions {
  /** Placements to run, by name, in the scenario's order; empty: all. */
  readonly placements: readonly string[];
  readonly seed?: string;
  readonly replications?: number;
  /** Version of this program, for the result. */
  readonly version: string;
  /** Takes the DRAM commands of each placement's first replication. */
  readonly commandLog?: CommandLog;
  /** Told now and then how much of the whole study is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  /** Draws that shuffle the order of events within a phase, to prove that no result depends on it. */
  readonly shuffle?: () => number;
}

/** Runs the placements of a scenario, each as many times as it asks, on the same random draws. */
export function runStudy(scenario: Scenario, options: StudyOptions): StudyResult {
  const systems = chosen(scenario, options.placements);
  const seed = options.seed ?? systems[0]!.run.seed;
  const warmUp = warmUpOf(systems, seed);
  const warnings: Warning[] = scenario.notes.map((text) => ({ text, count: 1 }));
  if (!warmUp.settled) warnings.push({ text: 'the pilot run had not settled: state a longer run.warmup', count: 1 });
  const counts = systems.map((system) => options.replications ?? system.run.replications);
  const total = counts.reduce((sum, count) => sum + count, 0);
  let done = 0;
  const placements = systems.map((system, place): PlacementResult => {
    const result: PlacementResult = { placement: system.placement, budgets: system.budgets, replications: [] };
    for (let replication = 1; replication <= counts[place]!; replication++) {
      result.replications.push(
        replicate(system, {
          seed,
          replication,
          replications: counts[place]!,
          warmupPs: warmUp.warmupPs,
          ...(options.shuffle === undefined ? {} : { shuffle: options.shuffle }),
          ...(options.commandLog === undefined || replication > 1 ? {} : { commandLog: options.commandLog }),
          onProgress: (share) => options.onProgress?.((done + share) / total),
        }),
      );
      done++;
    }
    warnings.push(...overloads(system));
    return result;
  });
  warnings.push(...(options.commandLog?.warnings() ?? []));
  return {
    scenario: scenario.name,
    title: scenario.title,
    seed,
    version: options.version,
    warmupPs: warmUp.settled ? warmUp.warmupPs : null,
    placements,
    warnings,
  };
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
