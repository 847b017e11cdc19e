import { expect, test } from 'vitest';
import { describe as shown } from '../report.js';
import { caches, comparedKeys } from './area.js';
import { cheHitRatio, cheLikeHitRatio, fifoHitRatio, zipf } from './irm-formulas.js';
import { given, keyOf, ROWS } from './rows.js';

test('caches follow the worked traces, counts and hit ratios, and stay coherent', () => {
  const checks = caches.run('quick', () => {});
  expect(checks.filter(({ verdict }) => verdict === 'fail').map(shown)).toEqual([]);
  expect(new Set(checks.map(({ check }) => check)).size).toBe(checks.length);
  expect(checks.length).toBeGreaterThan(165);
}, 60_000);

test('every row of the table is compared', () => {
  // a ratio that is tried in both places is planned twice
  expect([...new Set(comparedKeys())].toSorted()).toEqual(ROWS.map(keyOf).toSorted());
});

test('the formulas of the sources give the hit ratios of the table', () => {
  const formulas = {
    'fifo hit_ratio': fifoHitRatio,
    'random hit_ratio': fifoHitRatio,
    'lru hit_ratio_che': cheHitRatio,
    'fifo hit_ratio_che_like': cheLikeHitRatio,
  };
  let compared = 0;
  for (const row of ROWS.filter((one) => one.text('kind') === 'irm')) {
    const formula = Object.entries(formulas).find(([key]) => keyOf(row).endsWith(` ${key}`))?.[1];
    if (formula === undefined) continue;
    const p = zipf(given(row, 'lines'), given(row, 'zipf_alpha'));
    expect(formula(p, given(row, 'capacity')), keyOf(row)).toBeCloseTo(row.number('value'), 10);
    compared++;
  }
  // four for each of eight caches
  expect(compared).toBe(32);
});
