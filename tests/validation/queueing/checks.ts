import { type Comparison, judge, type OutsideCheck } from '../outside-check.js';
import type { Case, Published } from './case-file.js';
import type { Experiment, Target } from './experiment.js';
import { type Estimate, estimate } from './recipe.js';
import { spelled } from './sources.js';
import type { Reading } from './tally.js';

export const AREA = 'queueing';

/** A share this small is no atom of a distribution but what lies within rounding of a quantile. */
const ATOM = 1e-3;

/**
 * How wide half an interval may be, as a share of what is measured: beyond this a comparison proves nothing, and fails. Of a
 * quantile the share beyond it is measured; the limit is such that a quantile too long by this share of itself is found
 * where the tail is exponential: P(X > x) at 0.9 x is that at x to the power 0.9.
 */
const WIDEST_QUANTILE = 0.1;
const WIDEST = { mean: 0.1, deviation: 0.15, share: 0.25 };

/** Sorts of comparison: a mean, a deviation, a share that may be small, or a quantile by its level, such as `p99`. */
type Kind = keyof typeof WIDEST | `p${number}`;

const WORDS = { mean: 'means', deviation: 'deviations', share: 'losses and states' };

function widestOf(kind: Kind): number {
  return isLevel(kind) ? (1 - Number(kind.slice(1)) / 100) ** -WIDEST_QUANTILE - 1 : WIDEST[kind];
}

const isLevel = (kind: Kind): kind is `p${number}` => /^p\d/.test(kind);

/** One comparison, and how wide its interval is. */
interface Judged {
  readonly check: OutsideCheck;
  readonly kind: Kind;
  readonly relativeHalf: number;
}

/** Holds all replications of an experiment against what is published. */
export function checksOf(one: Case, experiment: Experiment, runs: readonly Reading[][]): OutsideCheck[] {
  const name = experiment.variant === '' ? one.id : `${one.id} (${experiment.variant})`;
  const judged = experiment.targets.flatMap((target, n) =>
    judgeTarget(
      name,
      target,
      runs.map((run) => run[n]!),
    ),
  );
  const checks = judged.map(({ check }) => check);
  return experiment.replications === 1 ? checks : [...checks, ...widthChecks(name, judged)];
}

function judgeTarget(name: string, target: Target, readings: readonly Reading[]): Judged[] {
  switch (readings[0]!.kind) {
    case 'mean':
      return [judgeMean(name, target, readings)];
    case 'deviation':
      return [judgeDeviation(name, target, readings)];
    case 'quantile':
      return judgeQuantile(name, target, readings);
  }
}

function judgeMean(name: string, { published, slack }: Target, readings: readonly Reading[]): Judged {
  const { value, half } = estimateOf(readings, 'sum');
  const tolerance = half + slack + rounding(published);
  return judged(comparison(name, published, value, tolerance), kindOf(published), relative(half, published.value));
}

/** Losses and states of the system may be rare, and then need longer runs than all else. */
function kindOf({ metric }: Published): Kind {
  return metric === 'loss_prob' || /^prob_(empty|number)/.test(metric) ? 'share' : 'mean';
}

const relative = (half: number, value: number) => (half === 0 ? 0 : half / value);

/**
 * The mean square about the published mean must be the square of the published deviation: the same demand, as a deviation,
 * since |a² − b²| ≤ h means |a − b| ≤ h/(a + b).
 */
function judgeDeviation(name: string, { published, slack }: Target, readings: readonly Reading[]): Judged {
  const squares = estimateOf(readings, 'sum');
  const value = Math.sqrt(squares.value);
  const half = squares.half / (value + published.value);
  const tolerance = half + slack + rounding(published);
  return judged(comparison(name, published, value, tolerance), 'deviation', relative(half, published.value));
}

/**
 * A quantile x is judged by counting: P(X > x) = 1 − p where no value has a probability of its own; else no more than 1 − p
 * is beyond x and no less than 1 − p is not below it. Between the two counts lies also what a tick may have shifted.
 */
function judgeQuantile(name: string, { published }: Target, readings: readonly Reading[]): Judged[] {
  const { metric, value, unit } = published;
  const [what, level] = metric.split('_p') as [string, string];
  const kind = `p${level}` as Kind;
  const share = 1 - Number(level) / 100;
  const at = `${Number(value.toPrecision(6))} ${unit}`;
  const beyond = estimateOf(readings, 'beyond');
  const from = estimateOf(readings, 'from');
  const row = (words: string, measured: Estimate, relation: Comparison['relation'], shift: number): Judged => {
    const check = `${name}: ${subjectOf(published)}share of ${nounOf(what)} ${words} the p${level} of ${at}`;
    const tolerance = measured.half + shift;
    const source = spelled(published.source);
    const compared = { check, source, unit: '1', expected: share, measured: measured.value, tolerance };
    return judged(relation === undefined ? compared : { ...compared, relation }, kind, measured.half / share);
  };
  const between = from.value - beyond.value;
  if (isTicked(readings) || between < ATOM * share) {
    const middle = { value: (from.value + beyond.value) / 2, half: Math.max(from.half, beyond.half) };
    return [row('beyond', middle, 'equal', between / 2)];
  }
  return [row('beyond', beyond, 'at_most', 0), row('not below', from, 'at_least', 0)];
}

function isTicked(readings: readonly Reading[]): boolean {
  const [first] = readings;
  return first?.kind === 'quantile' && first.ticked;
}

/** One row for each kind of comparison: the widest interval of the kind is still narrow enough. */
function widthChecks(name: string, all: readonly Judged[]): OutsideCheck[] {
  return [...new Set(all.map(({ kind }) => kind))].map((kind) => {
    const widths = all.filter((one) => one.kind === kind).map(({ relativeHalf }) => relativeHalf);
    const what = isLevel(kind) ? `shares beyond ${kind}` : WORDS[kind];
    return judge(AREA, {
      check: `${name}: widest half interval of its ${what}, relative`,
      source: 'a demand of this suite on itself, no source',
      unit: '1',
      expected: widestOf(kind),
      measured: Math.max(...widths),
      relation: 'at_most',
    });
  });
}

function estimateOf(readings: readonly Reading[], key: 'sum' | 'beyond' | 'from'): Estimate {
  return estimate(
    readings.map((one) => ({ sum: (one as Record<typeof key, number> & Reading)[key], count: one.count })),
  );
}

function comparison(name: string, published: Published, measured: number, tolerance: number): Comparison {
  const { metric, unit, value, source } = published;
  const check = `${name}: ${subjectOf(published)}${metric.replaceAll('_', ' ')}`;
  return { check, source: spelled(source), unit, expected: value, measured, tolerance };
}

function judged(compared: Comparison, kind: Kind, relativeHalf: number): Judged {
  return { check: judge(AREA, compared), kind, relativeHalf };
}

/** Values are printed to 13 digits, and the table of checks to 12. */
const PRINTED = 1e-11;

/** What the published value itself may be off by. */
const rounding = ({ value, precision }: Published) => Math.abs(value) * (precision + PRINTED);

const subjectOf = ({ subject }: Published) => (subject === 'all' ? '' : `${subject} `);
const nounOf = (what: string) => (what === 'number' ? 'time with a number' : `${what}s`);
