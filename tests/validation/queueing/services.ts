import type { DistributionSpec } from '../../../src/scenario/scenario.js';
import { type Atom, type Case, numberOf, parseAtoms, textOf } from './case-file.js';
import { CYCLE_PS } from './tally.js';

/** A service time of a case. */
export interface Service {
  /** In ps. */
  readonly spec: DistributionSpec;
  /** In cycles. */
  readonly mean: number;
  /** Squared deviation over squared mean. */
  readonly variation: number;
}

export function fixed(cycles: number): Service {
  return { spec: { kind: 'fixed', value: cycles * CYCLE_PS }, mean: cycles, variation: 0 };
}

export function exponential(mean: number): Service {
  return { spec: { kind: 'exponential', mean: mean * CYCLE_PS }, mean, variation: 1 };
}

/** Values with their probabilities, in cycles. */
export function atoms(all: readonly Atom[]): Service {
  const weights = all.map(({ probability }) => probability);
  const spec: DistributionSpec = { kind: 'table', values: all.map(({ value }) => value * CYCLE_PS), weights };
  const moment = (power: number) => all.reduce((sum, { value, probability }) => sum + probability * value ** power, 0);
  return { spec, mean: moment(1), variation: moment(2) / moment(1) ** 2 - 1 };
}

/** Whole cycles from 1 on, without memory: done in each cycle with probability `finish`. */
export function geometric(finish: number): Service {
  return { spec: { kind: 'geometric', mean: 1 / finish, unit: CYCLE_PS }, mean: 1 / finish, variation: 1 - finish };
}

/**
 * Sum of `k` exponentials. The language has no such distribution, so it is a table of the means of narrow slices: a slice of
 * h takes h²/12 off the variance, here 5e-6 of the squared mean.
 */
export function erlang(k: number, mean: number): Service {
  const stage = mean / k;
  const slices = Array.from({ length: 128 * 15 }, (_, i): [number, number] => [
    (i * mean) / 128,
    ((i + 1) * mean) / 128,
  ]);
  const slice = ([from, to]: [number, number]): Atom => {
    const probability = erlangTail(k, from / stage) - erlangTail(k, to / stage);
    const moment = mean * (erlangTail(k + 1, from / stage) - erlangTail(k + 1, to / stage));
    return { value: moment / probability, probability };
  };
  return atoms(slices.map(slice).filter(({ probability }) => probability > 1e-14));
}

/** P(sum of k exponentials of mean 1 > x). */
function erlangTail(k: number, x: number): number {
  let term = Math.exp(-x);
  let sum = 0;
  for (let i = 0; i < k; i++) {
    sum += term;
    term *= x / (i + 1);
  }
  return sum;
}

/** An exponential of one of several means, each with its probability; as a table of slices half a percent wide. */
export function hyperexponential(phases: readonly Atom[]): Service {
  const longest = Math.max(...phases.map(({ value }) => value));
  const shortest = Math.min(...phases.map(({ value }) => value));
  const edges = [0];
  while (edges.at(-1)! < 30 * longest) edges.push(edges.at(-1)! + Math.max(shortest / 40, edges.at(-1)! / 200));
  const over = (at: number, weigh: (mean: number) => number) =>
    phases.reduce((sum, { value, probability }) => sum + probability * Math.exp(-at / value) * weigh(value), 0);
  const slices = edges.slice(1).map((to, i): Atom => {
    const from = edges[i]!;
    const probability = over(from, () => 1) - over(to, () => 1);
    const moment = over(from, (mean) => from + mean) - over(to, (mean) => to + mean);
    return { value: moment / probability, probability };
  });
  return atoms(slices.filter(({ probability }) => probability > 1e-14));
}

/** The service that a case states. */
export function serviceOf(one: Case): Service {
  const { params } = one;
  if (params.has('service_atoms')) return atoms(parseAtoms(textOf(one, 'service_atoms')));
  if (params.has('phases')) return hyperexponential(parseAtoms(textOf(one, 'phases')));
  if (params.has('service_cycles')) return fixed(numberOf(one, 'service_cycles'));
  const mean = numberOf(one, 'mean_service');
  switch (params.get('service') ?? 'exponential') {
    case 'exponential':
      return exponential(mean);
    case 'deterministic':
      return fixed(mean);
    case 'erlang':
      return erlang(numberOf(one, 'k'), mean);
    default:
      throw new RangeError(`case ${one.id}: unknown service ${params.get('service')}`);
  }
}
