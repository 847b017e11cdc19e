import { describe, expect, test } from 'vitest';
import { GRADES } from '../../model/dram/grade-timing.js';
import type { Area } from '../outside-check.js';
import { describe as told } from '../report.js';
import { legality } from './legality-area.js';
import { memory } from './memory-area.js';
import { WORKED_COUNT, workedExamples } from './worked.js';

describe.each<[Area, number]>([
  [memory, 1500],
  [legality, 280],
])('$name', (area, least) => {
  const shares: number[] = [];
  const checks = area.run('quick', (share) => shares.push(share));

  test('holds in its quick part', () => {
    expect(checks.filter(({ verdict }) => verdict === 'fail').map((check) => told(check))).toEqual([]);
  });

  test('compares much, each thing under its own name and with a source', () => {
    expect(checks.length).toBeGreaterThanOrEqual(least);
    expect(new Set(checks.map(({ check }) => check)).size).toBe(checks.length);
    expect(checks.every(({ source }) => source !== '')).toBe(true);
  });

  test('tells how far it is', () => {
    expect(shares.at(-1)).toBe(1);
    expect(shares).toEqual(shares.toSorted((a, b) => a - b));
  });
});

test('every worked example of the table is measured', { timeout: 120_000 }, () => {
  const measured = GRADES.flatMap((grade) => workedExamples(grade));
  expect(measured).toHaveLength(WORKED_COUNT);
  expect(WORKED_COUNT).toBe(1392);
});
