import type { Warning } from '../measure/results.js';
import { CAUTION } from './caution.js';
import type { PlatformFacts } from './platform.js';

/** A scenario file that results were made from; the caller knows the file and its hash. */
export interface Source {
  scenarioFile: string;
  /** Of the file's bytes, in hexadecimal. */
  scenarioSha256: string;
  scenarioText: string;
}

/** What every manifest tells: where the results come from, and how to get them again. */
export interface Provenance extends Source {
  version: string;
  scenario: string;
  title: string;
  /** That gives the same tables, whatever the folder. */
  command: string;
  placements: readonly string[];
  seed: string;
  replications: number;
  /** By placement; the names are those of the tables. */
  platforms: readonly PlatformFacts[];
}

/** What the manifest tells about a run; the caller knows the clock on the wall. */
export interface ManifestInput extends Provenance {
  /** Of all replications and placements together, warm-up and drain included. */
  simulatedPs: number;
  wallMs: number;
  events: number;
  warnings: readonly Warning[];
  /** Why cells are empty. */
  notes: readonly string[];
}

/** What comparison.json tells about a comparison. */
export interface ComparisonManifestInput extends Provenance {
  /** The second scenario file, where there is one. */
  against: Source | null;
  /** Of each replication. */
  windowPs: number;
}

/** The text of manifest.json. All but the wall time is a function of scenario, seed and version. */
export function manifestText(input: ManifestInput): string {
  return jsonText({
    ...head(input),
    simulated_time_ns: Math.round(input.simulatedPs / 1000),
    wall_time_ms: Math.round(input.wallMs),
    events: input.events,
    warnings: input.warnings.map(({ text, count }) => ({ text, count })),
    notes: input.notes,
    ...foot(input),
  });
}

/** What commands leave beside their tables, so that a folder tells where they come from. */
export const COMPARISON_MANIFEST = 'comparison.json';
export const SWEEP_MANIFEST = 'sweep.json';
export const CROSSING_MANIFEST = 'crossing.json';
export const PLACE_MANIFEST = 'place.json';

/** The text of sweep.json, crossing.json and place.json: a function of scenario, seed and version. */
export const studyManifestText = (input: Provenance): string => jsonText({ ...head(input), ...foot(input) });

/** The text of comparison.json: a function of scenarios, seed and version. */
export function comparisonManifestText(input: ComparisonManifestInput): string {
  const { against } = input;
  return jsonText({
    ...head(input),
    window_ns: Math.round(input.windowPs / 1000),
    against:
      against === null
        ? null
        : {
            scenario_file: against.scenarioFile,
            scenario_sha256: against.scenarioSha256,
            scenario_text: against.scenarioText,
          },
    ...foot(input),
  });
}

function head(input: Provenance): object {
  return {
    version: input.version,
    scenario: input.scenario,
    title: input.title,
    scenario_file: input.scenarioFile,
    scenario_sha256: input.scenarioSha256,
    command: input.command,
    placements: input.placements,
    seed: input.seed,
    replications: input.replications,
  };
}

const foot = ({ platforms, scenarioText }: Provenance): object => ({
  caution: CAUTION,
  platforms,
  scenario_text: scenarioText,
});

const jsonText = (manifest: object): string => `${JSON.stringify(manifest, null, 2)}\n`;
