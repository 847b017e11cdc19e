import { gradeNames, timingOf } from '../../../src/scenario/dram-timing.js';
import type { DramTimingSpec } from '../../../src/scenario/scenario.js';

/** Every speed grade of the table. */
export const GRADES: readonly string[] = gradeNames();

/** A grade's timing on the bus of the worked examples: 16 bits for LPDDR4, 32 bits for the others. */
export function timingOfGrade(grade: string): DramTimingSpec {
  return timingOf(grade, { busBytes: grade.startsWith('LPDDR4') ? 2 : 4, densityGbit: null, overrides: new Map() });
}
