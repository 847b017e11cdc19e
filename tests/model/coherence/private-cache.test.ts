import { expect, test } from 'vitest';
import { Outcome, PrivateCache } from '../../../src/model/coherence/private-cache.js';
import { LineState } from '../../../src/model/coherence/tag-store.js';

const make = (): PrivateCache => new PrivateCache({ bytes: 128, ways: 2, replacement: 'lru' }, 64, 2, () => 0);

/** Fetches a line and has it granted and landed in a state. */
function bring(cache: PrivateCache, line: number, state: number, slot = 7): void {
  const flight = cache.start(line, state === LineState.modified, slot);
  cache.grant(slot, state, false);
  cache.land(flight);
  const victim = cache.takeVictim(slot);
  if (victim >= 0) cache.forget(victim);
}

test('an access hits, misses, upgrades or joins by the state of its line', () => {
  const cache = make();
  expect(cache.access(1, false)).toBe(Outcome.miss);
  bring(cache, 1, LineState.shared);
  expect(cache.access(1, false)).toBe(Outcome.hit);
  expect(cache.access(1, true)).toBe(Outcome.upgrade);
  cache.start(2, false, 9);
  expect(cache.access(2, false)).toBe(Outcome.merged);
  expect(cache.access(2, true)).toBe(Outcome.wait);
  expect(cache.access(1, false)).toBe(Outcome.hit);
});

test('a store hit makes an exclusive line modified', () => {
  const cache = make();
  bring(cache, 1, LineState.exclusive);
  expect(cache.isDirty(1)).toBe(false);
  expect(cache.access(1, true)).toBe(Outcome.hit);
  expect(cache.isDirty(1)).toBe(true);
});

test('a line that was pushed out answers snoops until the unit has dealt with it, and gives its data once', () => {
  const cache = make();
  bring(cache, 1, LineState.modified);
  bring(cache, 2, LineState.exclusive);
  cache.start(3, false, 11);
  expect([cache.evicted, cache.evictedDirty]).toEqual([1, true]);
  expect(cache.isDirty(1)).toBe(true);
  expect(cache.snoop(1, true)).toBe(true);
  expect(cache.snoop(1, true)).toBe(false);
  expect(cache.takeVictim(11)).toBe(1);
  expect(cache.victimDirty(1)).toBe(false);
  expect(cache.takeVictim(11)).toBe(-1);
});

test('a snoop takes an upgrade down to a fetch that keeps its way', () => {
  const cache = make();
  bring(cache, 1, LineState.shared);
  cache.start(1, true, 12);
  expect(cache.awaits(1)).toBe(false);
  expect(cache.snoop(1, true)).toBe(false);
  expect(cache.access(1, false)).toBe(Outcome.merged);
  cache.grant(12, LineState.modified, true);
  expect(cache.awaits(1)).toBe(true);
  expect(cache.land(cache.flightOf(1))).toBe(true);
  expect(cache.isDirty(1)).toBe(true);
});

test('an access waits while every way of its set is on its way in', () => {
  const cache = make();
  cache.start(1, false, 3);
  cache.start(2, false, 4);
  expect(cache.access(5, false)).toBe(Outcome.wait);
});

test('counts its flights and knows their lines', () => {
  const cache = make();
  expect(cache.evictedDirty).toBe(false);
  const [first, second] = [cache.start(1, false, 3), cache.start(2, true, 4)];
  expect([cache.flying, cache.lineOf(first), cache.lineOf(second), cache.flightOf(2)]).toEqual([2, 1, 2, second]);
  cache.grant(3, LineState.shared, false);
  expect(cache.land(first)).toBe(false);
  expect([cache.flying, cache.flightOf(1), cache.flightOf(2)]).toEqual([1, -1, second]);
});

test('a store joins the fetch of another store', () => {
  const cache = make();
  cache.start(2, true, 9);
  expect(cache.access(2, true)).toBe(Outcome.merged);
});

test('no line is awaited that was not asked for', () => {
  expect(make().awaits(99)).toBe(false);
});

test('a snoop that leaves the line takes the right to write it, one that does not takes the line', () => {
  const cache = make();
  bring(cache, 1, LineState.modified);
  expect(cache.snoop(1, false)).toBe(true);
  expect([cache.access(1, false), cache.access(1, true)]).toEqual([Outcome.hit, Outcome.upgrade]);
  expect(cache.isDirty(1)).toBe(false);
  expect(cache.snoop(1, true)).toBe(false);
  expect(cache.access(1, false)).toBe(Outcome.miss);
});

test('a snoop leaves a line alone that is on its way in', () => {
  const cache = make();
  cache.start(2, false, 9);
  expect([cache.snoop(2, false), cache.access(2, false)]).toEqual([false, Outcome.merged]);
});

test('a clean line that is pushed out is told apart from a changed one, and forgotten when the unit knows', () => {
  const cache = make();
  bring(cache, 1, LineState.exclusive);
  bring(cache, 2, LineState.modified);
  cache.start(3, false, 11);
  expect([cache.evicted, cache.evictedDirty, cache.victimDirty(1)]).toEqual([1, false, false]);
  cache.start(4, false, 12);
  expect([cache.evicted, cache.evictedDirty, cache.victimDirty(2)]).toEqual([2, true, true]);
  cache.forget(2);
  expect([cache.isDirty(2), cache.takeVictim(12), cache.takeVictim(11)]).toEqual([false, -1, 1]);
});

test('refuses to push out more than it can keep for the unit', () => {
  const cache = make();
  const fetch = (line: number): void => {
    const flight = cache.start(line, false, 100 + line);
    cache.grant(100 + line, LineState.exclusive, false);
    cache.land(flight);
  };
  // two ways, and four lines pushed out that the unit is not told of
  for (let line = 0; line < 6; line++) fetch(line);
  expect(() => fetch(6)).toThrow('more lines pushed out');
});
