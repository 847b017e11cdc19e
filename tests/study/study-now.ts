import type { StudyResult } from '../../src/measure/results.js';
import type { Scenario } from '../../src/scenario/scenario.js';
import { Alone } from '../../src/study/crew.js';
import type { Watch } from '../../src/study/replicate.js';
import { planStudy, type StudyChoice } from '../../src/study/run-study.js';

/** A study run on this thread, and done when this returns. */
export function studyNow(scenario: Scenario, choice: Partial<StudyChoice> = {}, watch: Watch = {}): StudyResult {
  const plan = planStudy(scenario, { placements: [], version: 'test', ...choice });
  return plan.finish(new Alone(watch).runNow(plan.jobs));
}
