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
