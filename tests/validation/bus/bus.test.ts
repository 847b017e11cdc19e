import { expect, test } from 'vitest';
import { describe as shown } from '../report.js';
import { bus, EXAMPLES, MEASURES } from './area.js';
import { NOT_EXPRESSED } from './not-expressed.js';

test('every example of the AXI facts holds on the model', () => {
  const checks = bus.run('quick', () => {});
  expect(checks.filter(({ verdict }) => verdict === 'fail').map(shown)).toEqual([]);
  expect(new Set(checks.map(({ check }) => check)).size).toBe(checks.length);
  // 45 examples, 11 splits, 15 requests, 10 bursts of beats and 13 legal or illegal ones
  expect(checks.length).toBeGreaterThan(290);
});

test('every example is run, or listed with the reason why the model cannot express it', () => {
  const examples = EXAMPLES.map((row) => row.text('example'));
  expect(new Set(examples).size).toBe(examples.length);
  expect([...Object.keys(MEASURES), ...NOT_EXPRESSED.keys()].toSorted()).toEqual(examples.toSorted());
});
