import { dirname, join, resolve } from 'node:path';
import type { Axis, RangeAxis } from '../scenario/axis.js';
import type { MetricSpec, Scenario } from '../scenario/scenario.js';
import type { CrossingOptions } from '../study/crossing.js';
import { CommandError } from './command-error.js';
import { commandWords } from './command-words.js';
import { withCrew } from './crew.js';
import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import { checkPlacements, type LoadedScenario, loadScenario } from './load.js';
import { withProgress } from './progress.js';
import { provenanceOf } from './provenance.js';
import { folderStore } from './store.js';
import { programVersion } from './version.js';
import { writeOrSay } from './write.js';

export interface SweepCommandOptions {
  vary: string[];
  placement?: string[];
  samples?: number;
  crossing?: string;
  replications?: number;
  seed?: string;
  workers?: number;
  out?: string;
  resume?: boolean;
}

/** What is asked of which file, and what it is answered with. */
interface Asked {
  readonly axes: readonly Axis[];
  readonly loaded: LoadedScenario;
  readonly path: string;
  readonly options: SweepCommandOptions;
  readonly folder: string;
  readonly means: Pick<CrossingOptions, 'version' | 'crew' | 'store' | 'seed'>;
  readonly io: Io;
}

/** Jobs for each worker that points are gathered for. */
const JOBS_A_WORKER = 4;

/** A scenario over values of its keys → sweep.csv, or crossing.csv. */
export async function sweepCommand(path: string, options: SweepCommandOptions, io: Io): Promise<number> {
  // Ctrl-C is heard until the last table is written
  return withCrew(options.workers, io, async (crew) => {
    const loaded = await loadScenario(path, io);
    checkPlacements(loaded.scenario, options.placement ?? []);
    const { parseAxis } = await import('../scenario/axis.js');
    const axes = options.vary.map(parseAxis);
    const twice = axes.find(({ key }, place) => axes.findIndex((other) => other.key === key) < place);
    if (twice !== undefined) throw new CommandError(`${twice.key} is varied twice; name it once`, ExitCode.usage);
    const folder = options.out ?? join('results', loaded.scenario.name);
    const means = {
      version: programVersion(),
      crew,
      store: folderStore(join(folder, 'points'), options.resume === true, io),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
    };
    const asked = { axes, loaded, path, options, folder, means, io };
    return options.crossing === undefined ? sweepOver(asked) : crossingOf(options.crossing, asked);
  });
}

/** Reads the scenario with other values of some keys. */
async function readerOf({ loaded: { bytes }, path, io }: Asked) {
  const { readScenario } = await import('../scenario/read.js');
  const readFile = (name: string): Uint8Array => io.readFile(resolve(dirname(path), name));
  return (axes: readonly Axis[], values: readonly string[]): Scenario =>
    readScenario(
      bytes,
      path,
      { readFile },
      axes.map(({ key }, place) => ({ key, value: values[place]! })),
    );
}

async function sweepOver(asked: Asked): Promise<number> {
  const { axes, loaded, options, folder, means, io } = asked;
  const { gridOf, sampleOf } = await import('../study/points.js');
  const { sweepPoints } = await import('../study/sweep.js');
  const { sweepTable } = await import('../measure/tables/sweep-columns.js');
  const { toCsv } = await import('../output/csv.js');
  const { SWEEP_MANIFEST } = await import('../output/manifest.js');
  const { sweepText } = await import('../output/sweep.js');
  const { name, systems } = loaded.scenario;
  const seed = options.seed ?? systems[0]!.run.seed;
  const values = options.samples === undefined ? gridOf(axes) : sampleOf(axes, options.samples, seed);
  const read = await readerOf(asked);
  // all of them before the work, so that a value that cannot be is told at once
  const points = values.map((keys) => ({ keys, scenario: read(axes, keys) }));
  const keys = axes.map(({ key }) => key);
  const file = join(folder, 'sweep.csv');
  writeOrSay(file, toCsv(sweepTable(keys, []), []), io);
  const sweep = await withProgress(io, name, (onProgress) =>
    sweepPoints(points, {
      ...means,
      placements: options.placement ?? [],
      jobsAtOnce: JOBS_A_WORKER * (options.workers ?? io.processors),
      onProgress,
      ...(options.replications === undefined ? {} : { replications: options.replications }),
    }),
  );
  writeOrSay(file, toCsv(sweepTable(keys, sweep.rows), sweep.rows), io);
  await leaveManifest(SWEEP_MANIFEST, asked);
  io.out(sweepText(name, keys, sweep, { width: io.columns ?? 100, paint: io.paint }));
  io.out(`\nTable in ${file}\n`);
  if (sweep.done === sweep.asked) return ExitCode.done;
  io.err(`stopped: ${sweep.done} of ${sweep.asked} points are kept; go on with --resume\n`);
  return ExitCode.stopped;
}

async function crossingOf(wanted: string, asked: Asked): Promise<number> {
  const { axes, loaded, options, folder, means, io } = asked;
  const { findCrossings } = await import('../study/crossing.js');
  const { crossingTable } = await import('../measure/tables/sweep-columns.js');
  const { toCsv } = await import('../output/csv.js');
  const { CROSSING_MANIFEST } = await import('../output/manifest.js');
  const { crossingText } = await import('../output/sweep.js');
  const axis = onlyRange(axes, options);
  const [baseline, variant] = twoOf(loaded.scenario, options.placement ?? []);
  const metric = await metricOf(wanted, loaded.scenario, [baseline, variant]);
  const read = await readerOf(asked);
  const { written } = await import('../scenario/axis.js');
  // both ends before the work, so that a value that cannot be is told at once
  for (const end of [axis.from, axis.to]) read([axis], [written(axis, end)]);
  const file = join(folder, 'crossing.csv');
  writeOrSay(file, toCsv(crossingTable([]), []), io);
  try {
    const crossing = await withProgress(io, `${baseline} against ${variant}`, (onProgress) =>
      findCrossings(
        { axis, metric, baseline, variant, scenarioAt: (value) => read([axis], [value]) },
        { ...means, onProgress },
      ),
    );
    writeOrSay(file, toCsv(crossingTable(crossing.rows), crossing.rows), io);
    await leaveManifest(CROSSING_MANIFEST, asked);
    io.out(crossingText(crossing, { width: io.columns ?? 100, paint: io.paint }));
    io.out(`\nTable in ${file}\n`);
    return ExitCode.done;
  } catch (error) {
    if (!(error instanceof Error) || error.name !== 'Stopped') throw error;
    throw new CommandError('stopped: the values looked at are kept; go on with --resume', ExitCode.stopped);
  }
}

/** Beside the table: where it comes from. */
async function leaveManifest(name: string, { loaded, path, options, folder, io }: Asked): Promise<void> {
  const { studyManifestText } = await import('../output/manifest.js');
  const { vary, placement = [], samples, crossing, replications, seed } = options;
  const words = commandWords('sweep', path, { vary, placement, samples, crossing, replications, seed });
  const provenance = await provenanceOf(loaded, path, { placements: placement, seed, replications, words });
  writeOrSay(join(folder, name), studyManifestText(provenance), io);
}

function onlyRange(axes: readonly Axis[], { samples, replications }: SweepCommandOptions): RangeAxis {
  const [axis] = axes;
  if (axes.length !== 1 || axis?.kind !== 'range') {
    const hint = `write e.g. --vary 'buffers.lines.size=64 KiB..4 MiB'`;
    throw new CommandError(`--crossing takes one key over a range; ${hint}`, ExitCode.usage);
  }
  if (samples !== undefined || replications !== undefined) {
    const message = '--crossing chooses points and replications itself; leave out --samples and --replications';
    throw new CommandError(message, ExitCode.usage);
  }
  return axis;
}

function twoOf({ name, systems }: Scenario, named: readonly string[]): [string, string] {
  const known = systems.map(({ placement }) => placement);
  const [first, second, ...more] = named.length > 0 ? named : known;
  if (first === undefined || second === undefined || more.length > 0 || first === second) {
    const hint = `name two with --placement; ${name} has: ${known.join(', ')}`;
    throw new CommandError(`--crossing takes two different placements; ${hint}`, ExitCode.usage);
  }
  return [first, second];
}

/** The metric of that name: one of the file's `compare:`, or any path's as the tables call it. */
async function metricOf(wanted: string, { systems }: Scenario, placements: readonly string[]): Promise<MetricSpec> {
  const { metricsOf } = await import('../study/compare.js');
  const { metricName } = await import('../measure/tables/verdict-columns.js');
  const [first, second] = placements.map((name) => systems.find(({ placement }) => placement === name)!);
  const own = first!.metrics;
  const usual = metricsOf({ ...first!, metrics: [] }, second!);
  const found = own.find(({ name }) => name === wanted) ?? [...own, ...usual].find((one) => metricName(one) === wanted);
  if (found !== undefined) return found;
  const known = [...own.map(({ name }) => name), ...usual.map((metric) => `'${metricName(metric)}'`)];
  throw new CommandError(`unknown metric '${wanted}'; there are: ${known.join(', ')}`, ExitCode.usage);
}
