import { studentQuantile } from '../../../src/measure/statistics/student.js';

/** A side compared with the first: the cost of a burst as a multiple of the first's, with a 95 % interval. */
export interface Comparison {
  readonly name: string;
  readonly ratio: number;
  readonly low: number;
  readonly high: number;
}

/**
 * Compares a side with side 0 by the mean of the logarithms of their ratios, a launch each, with Student's interval.
 *
 * @param costs by launch, then by side; at least two launches
 */
export function compared(name: string, costs: readonly (readonly number[])[], side: number): Comparison {
  const { length } = costs;
  const logs = costs.map((launch) => Math.log(launch[side]! / launch[0]!));
  const mean = logs.reduce((sum, log) => sum + log, 0) / length;
  const variance = logs.reduce((sum, log) => sum + (log - mean) ** 2, 0) / (length - 1);
  const half = studentQuantile(0.975, length - 1) * Math.sqrt(variance / length);
  return { name, ratio: Math.exp(mean), low: Math.exp(mean - half), high: Math.exp(mean + half) };
}
