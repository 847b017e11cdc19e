import type { StudyResult } from '../../src/measure/results.js';
import type { Scenario } from '../../src/scenario/scenario.js';
import { Alone } from '../../src/study/crew.js';
import type { Watch } from '../../src/study/replicate.js';
import { choiceOf, planStudy, type StudyChoice } from '../../src/study/run-study.js';
import { warmUpNow } from '../../src/study/warm-up.js';

/** A study run on this thread, and done when this returns. */
export function studyNow(scenario: Scenario, choice: Partial<StudyChoice> = {}, watch: Watch = {}): StudyResult {
  const all = { placements: [], version: 'test', ...choice };
  const { systems, seed } = choiceOf(scenario, all);
  const plan = planStudy(scenario, all, warmUpNow(systems, seed));
  return plan.finish(new Alone(watch).runNow(plan.jobs));
}
