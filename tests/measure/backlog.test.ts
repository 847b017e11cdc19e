import { expect, it } from 'vitest';
import { Backlog } from '../../src/measure/backlog.js';

it('averages the backlog over each quarter of the window', () => {
  // window [100, 500), quarters of 100. 64 bytes from 50 on, 128 from 150, 0 from 350:
  // q1 = (50·64 + 50·128)/100 = 96, q2 = 128, q3 = 50·128/100 = 64, q4 = 0
  const backlog = new Backlog(100, 500);
  backlog.change(50, 64);
  backlog.change(150, 64);
  backlog.change(350, -128);
  backlog.finish();
  expect(backlog.quarterMeans()).toEqual([96, 128, 64, 0]);
  expect(backlog.maxBytes).toBe(128);
});

it('one change may span several quarters, and what is outside the window does not count', () => {
  const backlog = new Backlog(100, 500);
  backlog.change(0, 1000);
  backlog.change(99, -900);
  backlog.change(700, 5000);
  backlog.finish();
  expect(backlog.quarterMeans()).toEqual([100, 100, 100, 100]);
  expect(backlog.maxBytes).toBe(100);
});

it('what comes and goes in one instant is no backlog, in either order', () => {
  const [one, other] = [new Backlog(0, 100), new Backlog(0, 100)];
  for (const bytes of [64, -64, 8]) one.change(10, bytes);
  for (const bytes of [-64, 8, 64]) other.change(10, bytes);
  one.finish();
  other.finish();
  expect([one.maxBytes, other.maxBytes]).toEqual([8, 8]);
});
