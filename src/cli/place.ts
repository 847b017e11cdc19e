import { dirname, join, resolve } from 'node:path';
import type { PlaceRow } from '../measure/tables/rows.js';
import { CommandError } from './command-error.js';
import { commandWords } from './command-words.js';
import { withCrew } from './crew.js';
import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import { checkPlacements, loadScenario } from './load.js';
import { withProgress } from './progress.js';
import { provenanceOf } from './provenance.js';
import { writeOrSay } from './write.js';

export interface PlaceCommandOptions {
  placement?: string;
  seed?: string;
  replications?: number;
  whole?: boolean;
  out?: string;
  workers?: number;
}

/** Who may attach where → place.csv, with the best assignment and what speaks against the others in words. */
export async function placeCommand(path: string, options: PlaceCommandOptions, io: Io): Promise<number> {
  const loaded = await loadScenario(path, io);
  const { scenario, bytes } = loaded;
  const { place, name } = scenario;
  if (place === null) {
    const message = `${name} says nothing of what may attach where; add 'place:' (burstyard explain place)`;
    throw new CommandError(message, ExitCode.problem);
  }
  if (options.placement !== undefined) checkPlacements(scenario, [options.placement]);
  const { assignmentReader } = await import('../scenario/read.js');
  const { placeTable } = await import('../measure/tables/place-columns.js');
  const { toCsv } = await import('../output/csv.js');
  const { PLACE_MANIFEST, studyManifestText } = await import('../output/manifest.js');
  const { placeText } = await import('../output/place.js');
  const { findPlacement } = await import('../study/place/place.js');
  const table = placeTable([...place.mayAttach.keys()]);
  const file = join(options.out ?? join('results', name), table.file);
  // before the work, so that a folder that cannot be written costs no time
  writeOrSay(file, toCsv(table, []), io);
  const readFile = (named: string) => io.readFile(resolve(dirname(path), named));
  const read = assignmentReader(bytes, path, { readFile }, options.placement ?? null);
  const result = await withProgress(io, `${name}: placing`, (onProgress) =>
    withCrew(options.workers, io, (crew) =>
      findPlacement(place, read, {
        scenario: name,
        crew,
        onProgress,
        whole: options.whole ?? false,
        ...(options.seed === undefined ? {} : { seed: options.seed }),
        ...(options.replications === undefined ? {} : { replications: options.replications }),
      }),
    ),
  );
  writeOrSay(file, toCsv(table, result.rows), io);
  const { placement, seed, replications, whole } = options;
  const provenance = await provenanceOf(loaded, path, {
    placements: placement === undefined ? [] : [placement],
    seed,
    replications,
    words: commandWords('place', path, { placement, seed, replications, whole }),
  });
  writeOrSay(join(dirname(file), PLACE_MANIFEST), studyManifestText(provenance), io);
  io.out(placeText(result, { width: io.columns ?? 100, paint: io.paint }));
  io.out(`\nTable in ${file}\n`);
  return exitCodeOf(result.rows);
}

/** Whether the best is shown to meet all budgets; if none is, whether the data leave it open for one. */
function exitCodeOf(rows: readonly PlaceRow[]): number {
  const best = rows.find(({ status }) => status === 'best');
  if (best !== undefined) return best.failure === null ? ExitCode.done : ExitCode.undecided;
  const open = rows.some(({ rank, status }) => rank !== null || status === 'no_value');
  return open ? ExitCode.undecided : ExitCode.problem;
}
