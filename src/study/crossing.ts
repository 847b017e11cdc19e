import type { CrossingRow } from '../measure/tables/rows.js';
import { between, numbersOf, type RangeAxis, written } from '../scenario/axis.js';
import type { MetricSpec, Scenario, SystemSpec } from '../scenario/scenario.js';
import { compareSystems, ERROR } from './compare.js';
import { type Crew, Stopped } from './crew.js';
import { identityOf, type Store } from './identity.js';

/** Points that are looked at across the range before anything is narrowed. */
export const FIRST_POINTS = 5;
/** Most steps by which one range is halved. */
export const MOST_STEPS = 8;
/** Half of the error goes to the first points, half to all steps of the four ranges that there can be. */
const FIRST_ERROR = ERROR / 2 / FIRST_POINTS;
const STEP_ERROR = ERROR / 2 / ((FIRST_POINTS - 1) * MOST_STEPS);

/** Which placement is better: the variant, the baseline, or neither as far as the last look shows. */
export type Rank = 'variant' | 'baseline' | 'open';

/** Two placements over a range of one key. */
export interface CrossingQuestion {
  readonly axis: RangeAxis;
  readonly metric: MetricSpec;
  readonly baseline: string;
  readonly variant: string;
  /** The scenario with that value of the key. */
  readonly scenarioAt: (value: string) => Scenario;
}

export interface CrossingOptions {
  readonly seed?: string;
  readonly version: string;
  readonly crew: Crew;
  readonly store: Store;
  readonly onProgress?: (share: number) => void;
}

export interface Crossing {
  readonly scenario: string;
  readonly rows: readonly CrossingRow[];
  /** What was looked at, in order of the value. */
  readonly looked: readonly { value: string; rank: Rank }[];
}

/** A value of the key and who is better there. */
interface Looked {
  readonly number: number;
  readonly rank: Rank;
}

/** Asks who is better at a value, wrongly at most so often as `error`. */
export type Judge = (number: number, error: number) => Promise<Rank>;

/**
 * Looks for the values of a key at which two placements change rank. Five points across the range come first; a range
 * between neighbours of which each is better once is then halved, again and again. A step is taken only where a
 * comparison decides who is better at the middle (`compareSystems`, to its last look); where it does not, the range is the
 * answer, undecided. All decisions together err at most 5 %: half of it is shared by the first points, half by the steps.
 */
export async function findCrossings(question: CrossingQuestion, options: CrossingOptions): Promise<Crossing> {
  const { axis, metric, baseline, variant } = question;
  let asked = 0;
  const scenario = question.scenarioAt(written(axis, axis.from)).name;
  const judge: Judge = async (number, error) => {
    const rank = await rankAt(question, options, number, error);
    asked += 1;
    // how many steps there will be is not known; it never falls
    options.onProgress?.(asked / (asked + MOST_STEPS));
    return rank;
  };
  const { looked, found } = await search(axis, judge);
  const name = (rank: Rank | null): string | null =>
    rank === 'variant' ? variant : rank === 'baseline' ? baseline : null;
  return {
    scenario,
    looked: looked.map(({ number, rank }) => ({ value: written(axis, number), rank })),
    rows: found.map(({ low, high, below, above, verdict }) => ({
      scenario,
      placement: variant,
      replication: 'all',
      key: axis.key,
      metric,
      baseline,
      variant,
      low: written(axis, low),
      high: written(axis, high),
      betterBelow: name(below),
      betterAbove: name(above),
      verdict,
    })),
  };
}

/** A range of the key, and who is better at its ends. */
export interface Found {
  readonly low: number;
  readonly high: number;
  readonly below: Rank | null;
  readonly above: Rank | null;
  readonly verdict: CrossingRow['verdict'];
}

/** The search itself, for any judge. */
export async function search(axis: RangeAxis, judge: Judge): Promise<{ looked: Looked[]; found: Found[] }> {
  const looked: Looked[] = [];
  for (const number of numbersOf({ ...axis, step: null }, FIRST_POINTS)) {
    looked.push({ number, rank: await judge(number, FIRST_ERROR) });
  }
  const decided = looked.filter(({ rank }) => rank !== 'open');
  const ends = { low: looked[0]!.number, high: looked.at(-1)!.number };
  if (decided.length === 0) {
    return { looked, found: [{ ...ends, below: null, above: null, verdict: 'nothing_shown' }] };
  }
  const found: Found[] = [];
  for (const [place, right] of decided.entries()) {
    const left = decided[place - 1];
    if (left === undefined || left.rank === right.rank) continue;
    // a point in between that shows no difference is where a step would not be decided
    const isOpen = looked.some(({ number, rank }) => rank === 'open' && number > left.number && number < right.number);
    found.push(isOpen ? undecided(left, right) : await narrowed(axis, judge, left, right, looked));
  }
  if (found.length === 0) {
    found.push({ ...ends, below: decided[0]!.rank, above: decided[0]!.rank, verdict: 'no_change' });
  }
  return { looked: looked.toSorted((a, b) => a.number - b.number), found };
}

const undecided = (left: Looked, right: Looked): Found => ({
  low: left.number,
  high: right.number,
  below: left.rank,
  above: right.rank,
  verdict: 'undecided',
});

async function narrowed(axis: RangeAxis, judge: Judge, left: Looked, right: Looked, looked: Looked[]): Promise<Found> {
  let [low, high] = [left, right];
  for (let step = 0; step < MOST_STEPS; step++) {
    const number = between(axis, low.number, high.number);
    if (number === null) break;
    const middle = { number, rank: await judge(number, STEP_ERROR) };
    looked.push(middle);
    if (middle.rank === 'open') return undecided(low, high);
    if (middle.rank === low.rank) low = middle;
    else high = middle;
  }
  return { ...undecided(low, high), verdict: 'narrowed' };
}

async function rankAt(
  { axis, metric, baseline, variant, scenarioAt }: CrossingQuestion,
  { seed, version, crew, store }: CrossingOptions,
  number: number,
  error: number,
): Promise<Rank> {
  const scenario = scenarioAt(written(axis, number));
  const systemOf = (name: string): SystemSpec => scenario.systems.find(({ placement }) => placement === name)!;
  const [first, second] = [systemOf(baseline), systemOf(variant)];
  const identity = identityOf(version, [first, second], { kind: 'rank', seed: seed ?? null, metric, error });
  const known = store.find(identity) as { rank: Rank } | undefined;
  if (known !== undefined) return known.rank;
  const { rows, stopped } = await compareSystems(
    { label: baseline, system: first },
    { label: variant, system: second },
    {
      scenario: scenario.name,
      crew,
      metrics: [metric],
      error,
      toTheLast: true,
      ...(seed === undefined ? {} : { seed }),
    },
  );
  const { verdict } = rows[0]!;
  const rank = verdict === 'variant_better' ? 'variant' : verdict === 'baseline_better' ? 'baseline' : 'open';
  if (stopped && rank === 'open') throw new Stopped();
  store.keep(identity, { rank });
  return rank;
}
