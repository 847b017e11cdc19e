import type { Warning } from '../measure/results.js';
import { CAUTION } from './caution.js';

/** What the manifest tells about a run; the caller knows the file, its hash and the clock on the wall. */
export interface ManifestInput {
  version: string;
  scenario: string;
  scenarioFile: string;
  /** Of the file's bytes, in hexadecimal. */
  scenarioSha256: string;
  placements: readonly string[];
  seed: string;
  replications: number;
  /** Of all replications and placements together, warm-up and drain included. */
  simulatedPs: number;
  wallMs: number;
  events: number;
  warnings: readonly Warning[];
  /** Why cells are empty. */
  notes: readonly string[];
}

/** The text of manifest.json. All but the wall time is a function of scenario, seed and version. */
export function manifestText(input: ManifestInput): string {
  const manifest = {
    version: input.version,
    scenario: input.scenario,
    scenario_file: input.scenarioFile,
    scenario_sha256: input.scenarioSha256,
    placements: input.placements,
    seed: input.seed,
    replications: input.replications,
    simulated_time_ns: Math.round(input.simulatedPs / 1000),
    wall_time_ms: Math.round(input.wallMs),
    events: input.events,
    warnings: input.warnings.map(({ text, count }) => ({ text, count })),
    notes: input.notes,
    caution: CAUTION,
  };
  return `${JSON.stringify(manifest, null, 2)}\n`;
}
