import { expect, test } from 'vitest';
import { Entries } from '../../../src/model/dram/entries.js';

/** A place of `entries` becomes free at `timePs`. */
function free(entries: Entries, timePs: number): void {
  entries.freesAt = timePs;
  entries.free();
}

test('a place can be taken only after the instant in which it was freed', () => {
  const entries = new Entries(2);
  expect([entries.hasRoom(0), entries.soon]).toEqual([true, false]);
  entries.take();
  expect(entries.hasRoom(0)).toBe(true);
  entries.take();
  expect([entries.hasRoom(9), entries.soon]).toEqual([false, false]);
  free(entries, 10);
  expect([entries.hasRoom(10), entries.soon]).toEqual([false, true]);
  expect([entries.hasRoom(11), entries.soon]).toEqual([true, false]);
});

test('places come free one after the other, however often all were taken', () => {
  const entries = new Entries(3);
  for (let round = 0; round < 5; round++) {
    const now = round * 100;
    for (let place = 0; place < 3; place++) {
      expect(entries.hasRoom(now)).toBe(true);
      entries.take();
    }
    expect(entries.hasRoom(now)).toBe(false);
    for (const at of [10, 20, 20]) free(entries, now + at);
    // one is free at 11, and taken; two more at 21
    expect(entries.hasRoom(now + 11)).toBe(true);
    entries.take();
    expect([entries.hasRoom(now + 20), entries.soon]).toEqual([false, true]);
    expect(entries.hasRoom(now + 21)).toBe(true);
    free(entries, now + 30);
    expect([entries.hasRoom(now + 31), entries.soon]).toEqual([true, false]);
  }
});
