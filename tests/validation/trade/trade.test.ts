import { beforeAll, expect, test } from 'vitest';
import type { OutsideCheck } from '../outside-check.js';
import { describe as shown } from '../report.js';
import { trade } from './area.js';
import { COMMON_PRACTICE } from './common-practice.js';

/** How the checks of each fact begin. */
const FACTS = [
  'DDR3-1333 on 32 bits',
  'DDR2 at 800 MT/s on 32 bits',
  'LPDDR2 at 800 MT/s on 32 bits',
  'coherent port',
  'on-chip memory',
  'crossbar pair',
];

let checks: OutsideCheck[];
beforeAll(() => {
  checks = trade.run('quick', () => {});
}, 60_000);

test('the facts of the trade hold', () => {
  expect(checks.filter(({ verdict }) => verdict === 'fail').map(shown)).toEqual([]);
  expect(new Set(checks.map(({ check }) => check)).size).toBe(checks.length);
});

test('each fact is checked, and says that it is common practice', () => {
  for (const fact of FACTS) {
    const own = checks.filter(({ check }) => check.startsWith(fact));
    expect(
      own.some(({ source }) => source === COMMON_PRACTICE),
      fact,
    ).toBe(true);
  }
});
