import { expect, test } from 'vitest';
import { WriteBackBuffer } from '../../../src/model/coherence/write-back-buffer.js';
import { Window } from '../../../src/model/window.js';

test('is as long as what memory has not accepted, and takes more when it has', () => {
  const buffer = new WriteBackBuffer(2, new Window(0, 100));
  expect([buffer.length, buffer.full, buffer.holds(0), buffer.holdsPart(0)]).toEqual([0, false, false, false]);
  buffer.take(0, true, 40, -1, 0);
  buffer.take(8, false, 41, 7, 0);
  expect([buffer.length, buffer.full, buffer.holds(0), buffer.holdsPart(0)]).toEqual([2, true, true, false]);
  expect(buffer.holdsPart(8)).toBe(true);
  expect(buffer.accepted(40, 5)).toBe(-1);
  expect([buffer.length, buffer.full, buffer.holds(0)]).toEqual([1, false, false]);
  buffer.take(9, true, 42, 3, 6);
  expect([buffer.accepted(41, 7), buffer.accepted(42, 8), buffer.length]).toEqual([7, 3, 0]);
  expect([buffer.holds(9), buffer.holdsPart(8)]).toEqual([false, false]);
});
