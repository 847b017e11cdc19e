import { expect, test } from 'vitest';
import { MissEntries } from '../../../src/model/coherence/miss-entries.js';

/** Takes an entry for each of so many lines, from a first one on. */
function takeMany(entries: MissEntries, requester: number, count: number, from: number): number[] {
  return Array.from({ length: count }, (_, k) => entries.take(from + k, requester, -1));
}

test('what the others can still claim is kept for them', () => {
  // two each of six: with one taken by 1, it may claim one more
  const entries = new MissEntries(6, 2, 2);
  takeMany(entries, 1, 1, 10);
  takeMany(entries, 0, 3, 0);
  expect(entries.available(0)).toBe(true);
  takeMany(entries, 0, 1, 3);
  expect([entries.available(0), entries.available(1)]).toEqual([false, true]);
});

test('a minimum is cut down to an even share of the pool', () => {
  // one each of four for three: the second of one requester leaves two, which the others may claim
  const entries = new MissEntries(4, 4, 3);
  takeMany(entries, 0, 2, 0);
  expect([0, 1, 2].map((requester) => entries.available(requester))).toEqual([false, true, true]);
});

test('a full pool has nothing for anybody until an entry is freed, by whom it was taken', () => {
  const entries = new MissEntries(2, 1, 2);
  const [first] = takeMany(entries, 0, 1, 5);
  takeMany(entries, 1, 1, 6);
  expect([entries.inUse, entries.available(0), entries.available(1)]).toEqual([2, false, false]);
  expect(() => entries.take(7, 0, -1)).toThrow('none is free');
  entries.release(first!);
  expect([entries.inUse, entries.available(0), entries.available(1)]).toEqual([1, true, false]);
});

test('an entry says nobody waits before the first and after the last', () => {
  const entries = new MissEntries(1, 0, 1);
  const entry = entries.take(5, 0, 9);
  expect([entries.firstSlot(entry), entries.places[entry], entries.children[entry]]).toEqual([-1, 9, -1]);
  entries.wait(entry, 3, 0, 0);
  entries.shift(entry);
  expect(entries.firstSlot(entry)).toBe(-1);
  entries.release(entry);
  expect([entries.lines[entry], entries.places[entry]]).toEqual([-1, -1]);
});

test('hundreds wait in order for two lines at once', () => {
  const entries = new MissEntries(2, 0, 1);
  const both = takeMany(entries, 0, 2, 0);
  for (let k = 0; k < 300; k++) entries.wait(both[k % 2]!, 1000 + k, k * 3, k * 7);
  for (let k = 0; k < 300; k++) {
    const entry = both[k % 2]!;
    const first = [entries.firstSlot(entry), entries.firstLine(entry), entries.firstKnown(entry)];
    expect(first).toEqual([1000 + k, k * 3, k * 7]);
    entries.shift(entry);
  }
});
