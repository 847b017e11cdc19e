import { join } from 'node:path';
import { withCrew } from './crew.js';
import { ExitCode } from './exit-code.js';
import { CommandError } from './command-error.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { suggestion } from '../scenario/suggestion.js';
import type { Io } from './io.js';
import { checkPlacements, loadScenario } from './load.js';
import { withProgress } from './progress.js';
import { writeOrSay } from './write.js';

export interface SensitivityCommandOptions {
  placement?: string[];
  budget?: string;
  seed?: string;
  replications?: number;
  workers?: number;
  out?: string;
}

/** Scenario → sensitivity.csv: what the tightest budget of each placement hangs on, and a sentence for each element. */
export async function sensitivityCommand(path: string, options: SensitivityCommandOptions, io: Io): Promise<number> {
  const { scenario } = await loadScenario(path, io);
  const placements = options.placement ?? [];
  checkPlacements(scenario, placements);
  const { SENSITIVITY } = await import('../measure/tables/verdict-columns.js');
  const { toCsv } = await import('../output/csv.js');
  const { sensitivityText } = await import('../output/sensitivity.js');
  const { chosen } = await import('../study/chosen.js');
  const { sensitivityOf } = await import('../study/sensitivity.js');
  if (chosen(scenario, placements).every(({ budgets }) => budgets.length === 0)) {
    const hint = `write one under 'budgets:'; 'burstyard explain budgets' tells how`;
    throw new CommandError(`${scenario.name} has no budget that could hang on an element; ${hint}`, ExitCode.problem);
  }
  checkBudget(options.budget, chosen(scenario, placements));
  const file = join(options.out ?? join('results', scenario.name), SENSITIVITY.file);
  // before the work, so that a folder that cannot be written costs no time
  writeOrSay(file, toCsv(SENSITIVITY, []), io);
  const study = await withProgress(io, scenario.name, (onProgress) =>
    withCrew(options.workers, io, (crew) =>
      sensitivityOf(scenario, {
        placements,
        crew,
        onProgress,
        ...(options.budget === undefined ? {} : { budget: options.budget }),
        ...(options.seed === undefined ? {} : { seed: options.seed }),
        ...(options.replications === undefined ? {} : { replications: options.replications }),
      }),
    ),
  );
  writeOrSay(file, toCsv(SENSITIVITY, study.rows), io);
  io.out(sensitivityText(study, { width: io.columns ?? 100, paint: io.paint }));
  io.out(`\nTable in ${file}\n`);
  return ExitCode.done;
}

function checkBudget(name: string | undefined, systems: readonly SystemSpec[]): void {
  const known = new Set(systems.flatMap(({ budgets }) => budgets.map((budget) => budget.name)));
  if (name === undefined || known.has(name)) return;
  throw new CommandError(`--budget: no budget '${name}'; ${suggestion(name, known)}`, ExitCode.usage);
}
