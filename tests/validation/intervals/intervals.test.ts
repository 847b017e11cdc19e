import { beforeAll, describe, expect, it } from 'vitest';
import { PAIRS, runComparison } from './pair.js';
import { truth } from './queue.js';
import { type Ends, holds, runIntervalStudy, type Said } from './study.js';
import { tableOf } from './table.js';
import { FULL, type Outcome, tasksOf } from './tasks.js';

/** The same seeds as the first studies of `npm run intervals`, which does 2,000 of them. */
const FEW = Array.from({ length: 40 }, (_, before) => before + 1);

describe('40 studies of M/M/1 at load 0.8', () => {
  const studies: Said[] = [];
  beforeAll(() => {
    for (const study of FEW) studies.push(runIntervalStudy(study));
  }, 600_000);

  // more than 6 of 40 miss by chance once in 300 where 5 % do, more than 10 once in 700 where 10 % do
  it.each([
    ['mean', 6],
    ['p99', 10],
  ] as const)('hold the true %s in all but %i', (what, most) => {
    const missed = studies.filter((said) => !holds(said, what));
    expect(missed.length).toBeLessThanOrEqual(most);
    expect(studies.every((said) => said[what] !== null)).toBe(true);
  });

  it('give intervals that say something: a twentieth of the mean, a tenth of p99 to either side', () => {
    const width = (what: 'mean' | 'p99'): number =>
      studies.reduce((sum, said) => sum + said[what]![1] - said[what]![0], 0) / studies.length / 2;
    expect(width('mean') / truth(0.8).meanPs).toBeLessThan(0.06);
    expect(width('p99') / truth(0.8).p99Ps).toBeLessThan(0.12);
  });
});

describe.each(PAIRS)('queues compared, $name', (pair) => {
  it('err in none of two comparisons, and show what there is', { timeout: 300_000 }, async () => {
    // 5 % promised for each, so that one of the two errs by chance once in ten; these seeds do not
    for (const comparison of FEW.slice(0, 2)) {
      expect(await runComparison(pair, comparison)).toMatchObject({ wrong: false, shown: true });
    }
  });
});

describe('the table', () => {
  const { meanPs, p99Ps } = truth(0.8);
  const around = (value: number): Ends => [0.9 * value, 1.1 * value];
  const beside = (value: number): Ends => [1.01 * value, 1.1 * value];
  const outcomes = (misses: number): Outcome[] =>
    tasksOf(FULL).map((task): Outcome => {
      const compared = { comparison: task.number, replications: 10, wrong: task.number <= misses / 20, shown: true };
      const side = task.number <= misses ? beside : around;
      const said: Said = { study: task.number, mean: side(meanPs), p99: side(p99Ps) };
      return task.kind === 'study' ? { task, said } : { task, compared };
    });
  const verdicts = (misses: number): string[] => tableOf(outcomes(misses), FULL).map(({ verdict }) => verdict);

  it('passes shares within the limits only, on both sides', () => {
    expect(verdicts(100)).toEqual(['pass', 'pass', 'pass', 'pass', 'pass']);
    expect(verdicts(141)).toEqual(['fail', 'pass', 'fail', 'fail', 'pass']);
    expect(verdicts(201)).toEqual(['fail', 'fail', 'fail', 'fail', 'pass']);
    expect(verdicts(39)).toEqual(['fail', 'fail', 'pass', 'pass', 'pass']);
  });

  it('counts an empty cell as a miss', () => {
    expect(holds({ study: 1, mean: null, p99: around(p99Ps) }, 'mean')).toBe(false);
    expect(holds({ study: 1, mean: null, p99: around(p99Ps) }, 'p99')).toBe(true);
  });
});
