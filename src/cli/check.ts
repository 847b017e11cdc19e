import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import { checkPlacements, loadScenario } from './load.js';

/** What can be said of a scenario without simulating it. */
export async function checkCommand(path: string, options: { placement?: string[] }, io: Io): Promise<number> {
  const { scenario } = await loadScenario(path, io);
  const placements = options.placement ?? [];
  checkPlacements(scenario, placements);
  const { checkSystems } = await import('../study/check.js');
  const { checkText } = await import('../output/check-text.js');
  const { chosen } = await import('../study/chosen.js');
  const reports = checkSystems(chosen(scenario, placements));
  io.out(checkText(scenario, reports, { width: io.columns ?? 100, paint: io.paint }));
  return ExitCode.done;
}
