import type { Provenance } from '../output/manifest.js';
import type { LoadedScenario } from './load.js';
import { sourceOf } from './source.js';
import { programVersion } from './version.js';

/** What was asked of a scenario by a command that makes other systems of it. */
export interface Asked {
  /** Empty: all. */
  readonly placements: readonly string[];
  readonly seed: string | undefined;
  readonly replications: number | undefined;
  /** The command that gives the same tables. */
  readonly words: readonly string[];
}

/** Where the tables of such a command come from; the platforms are those of the file as it stands. */
export async function provenanceOf(
  { scenario, bytes }: LoadedScenario,
  path: string,
  { placements, seed, replications, words }: Asked,
): Promise<Provenance> {
  const { commandLine } = await import('../output/command-line.js');
  const { platformFacts } = await import('../output/platform.js');
  const { chosen } = await import('../study/chosen.js');
  const systems = chosen(scenario, placements);
  const { run } = systems[0]!;
  return {
    ...sourceOf(path, bytes),
    version: programVersion(),
    scenario: scenario.name,
    title: scenario.title,
    command: commandLine(words),
    placements: systems.map(({ placement }) => placement),
    platforms: systems.map(platformFacts),
    seed: seed ?? run.seed,
    replications: replications ?? run.replications,
  };
}
