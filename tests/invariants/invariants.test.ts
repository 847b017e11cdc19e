import { expect, test } from 'vitest';
import { INVARIANTS } from './all.js';
import { Coverage } from './coverage.js';
import { failureFile } from './soak-run.js';
import { search } from './search.js';

const PLATFORMS = 300;
const SEED = 2027;

test(
  `every invariant holds on ${PLATFORMS} random platforms, which have every feature among them`,
  () => {
    const coverage = new Coverage();
    const found = search({
      platforms: PLATFORMS,
      seed: SEED,
      invariants: INVARIANTS,
      onPlatform: (system) => coverage.add(system),
    });
    expect(found === null ? '' : failureFile(found, SEED)).toBe('');
    expect(coverage.platforms).toBe(PLATFORMS);
    expect(coverage.missing).toEqual([]);
  },
  // this long only where one fails and is made smaller
  600_000,
);

test('the invariants have names of their own, and stand in the order of their numbers', () => {
  const names = INVARIANTS.map(({ name }) => name);
  expect(new Set(names).size).toBe(names.length);
  const numbers = INVARIANTS.map(({ number }) => number);
  expect(numbers).toEqual(numbers.toSorted((a, b) => a - b));
});
