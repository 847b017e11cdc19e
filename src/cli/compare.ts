import { dirname, join } from 'node:path';
import type { Scenario, SystemSpec } from '../scenario/scenario.js';
import type { Side } from '../study/compare.js';
import type { Crew } from '../study/crew.js';
import { CommandError } from './command-error.js';
import { commandWords } from './command-words.js';
import { ExitCode } from './exit-code.js';
import { withCrew } from './crew.js';
import type { Io } from './io.js';
import { checkPlacements, loadScenario } from './load.js';
import { withProgress } from './progress.js';
import { sourceOf } from './source.js';
import { programVersion } from './version.js';
import { writeOrSay } from './write.js';

export interface CompareCommandOptions {
  placement?: string[];
  against?: string;
  seed?: string;
  out?: string;
  workers?: number;
}

/** Two placements, or one of each of two files → comparison.csv and a verdict in words. */
export async function compareCommand(path: string, options: CompareCommandOptions, io: Io): Promise<number> {
  // Ctrl-C is heard until the last table is written
  return withCrew(options.workers, io, (crew) => compareWith(crew, path, options, io));
}

async function compareWith(crew: Crew, path: string, options: CompareCommandOptions, io: Io): Promise<number> {
  const { placement, seed } = options;
  const { scenario, bytes } = await loadScenario(path, io);
  const against = options.against === undefined ? null : await loadScenario(options.against, io);
  const other = against?.scenario ?? null;
  const [baseline, variant] = other === null ? within(scenario, options) : across(scenario, other, options);
  checkMetrics(baseline, variant);
  const { COMPARISON } = await import('../measure/tables/verdict-columns.js');
  const { toCsv } = await import('../output/csv.js');
  const { commandLine } = await import('../output/command-line.js');
  const { COMPARISON_MANIFEST, comparisonManifestText } = await import('../output/manifest.js');
  const { platformFacts } = await import('../output/platform.js');
  const { comparisonText } = await import('../output/comparison.js');
  const { compareSystems, metricsOf } = await import('../study/compare.js');
  if (metricsOf(baseline.system, variant.system).length === 0) {
    throw new CommandError(`${baseline.label} and ${variant.label} have no path in common`, ExitCode.problem);
  }
  const file = join(options.out ?? join('results', scenario.name), COMPARISON.file);
  // before the work, so that a folder that cannot be written costs no time
  writeOrSay(file, toCsv(COMPARISON, []), io);
  const comparison = await withProgress(io, `${baseline.label} against ${variant.label}`, (onProgress) =>
    compareSystems(baseline, variant, {
      scenario: scenario.name,
      crew,
      onProgress,
      ...(seed === undefined ? {} : { seed }),
    }),
  );
  writeOrSay(file, toCsv(COMPARISON, comparison.rows), io);
  const manifest = comparisonManifestText({
    ...sourceOf(path, bytes),
    against: against === null ? null : sourceOf(options.against!, against.bytes),
    version: programVersion(),
    scenario: scenario.name,
    title: scenario.title,
    command: commandLine(commandWords('compare', path, { placement, against: options.against, seed })),
    placements: [baseline.label, variant.label],
    platforms: [baseline, variant].map(({ label, system }) => ({ ...platformFacts(system), placement: label })),
    seed: comparison.seed,
    replications: comparison.replications,
    windowPs: comparison.windowPs,
  });
  writeOrSay(join(dirname(file), COMPARISON_MANIFEST), manifest, io);
  io.out(comparisonText(comparison, { width: io.columns ?? 100, paint: io.paint }));
  io.out(`\nTable in ${file}\n`);
  if (!comparison.stopped) return ExitCode.done;
  io.err(`stopped: all that is said here was so after ${comparison.replications} replications\n`);
  return ExitCode.stopped;
}

/** Two placements of one file: those named, or the only two there are. */
function within(scenario: Scenario, { placement = [] }: CompareCommandOptions): [Side, Side] {
  checkPlacements(scenario, placement);
  const names = placement.length > 0 ? placement : scenario.systems.map((system) => system.placement);
  const [first, second] = names;
  if (first === undefined || second === undefined || names.length > 2 || first === second) {
    const hint =
      scenario.systems.length < 2
        ? `${scenario.name} has only ${names.join('')}: name another file with --against`
        : `name two with --placement; ${scenario.name} has: ${scenario.systems.map((one) => one.placement).join(', ')}`;
    throw new CommandError(`a comparison takes two different placements; ${hint}`, ExitCode.usage);
  }
  return [
    { label: first, system: systemOf(scenario, first) },
    { label: second, system: systemOf(scenario, second) },
  ];
}

/** One placement of each file: the first named of the first, the last named of the other; the first there is, if none. */
function across(scenario: Scenario, other: Scenario, { placement = [] }: CompareCommandOptions): [Side, Side] {
  if (placement.length > 2) {
    throw new CommandError('with --against, name at most one placement of each file', ExitCode.usage);
  }
  checkPlacements(scenario, placement.slice(0, 1));
  checkPlacements(other, placement.slice(-1));
  const first = systemOf(scenario, placement[0] ?? scenario.systems[0]!.placement);
  const second = systemOf(other, placement.at(-1) ?? other.systems[0]!.placement);
  const label = labelOf(other, second);
  const own = labelOf(scenario, first);
  return [
    { label: own, system: first },
    { label: own === label ? `${label} (other file)` : label, system: second },
  ];
}

const systemOf = ({ systems }: Scenario, name: string): SystemSpec =>
  systems.find(({ placement }) => placement === name)!;

const labelOf = ({ name, systems }: Scenario, { placement }: SystemSpec): string =>
  systems.length === 1 ? name : `${name} ${placement}`;

/** A metric is checked where it is written; the other file may lack what it names. */
function checkMetrics({ system: { metrics } }: Side, { system, label }: Side): void {
  for (const metric of metrics) {
    const masters = 'master' in metric ? [metric.master] : [];
    const elements = 'element' in metric ? [metric.element] : [];
    const tasks = 'task' in metric ? [metric.task] : [];
    const lacks =
      masters.find((name) => name !== null && !system.masters.some((one) => one.name === name)) ??
      elements.find((name) => name !== null && !system.elements.some((one) => one.name === name)) ??
      tasks.find((name) => !system.tasks.some((one) => one.name === name));
    if (lacks === undefined || lacks === null) continue;
    throw new CommandError(`metric ${metric.name} cannot be compared: ${label} has no ${lacks}`, ExitCode.problem);
  }
}
