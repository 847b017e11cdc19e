import { expect, test } from 'vitest';
import { CacheCounts, type CacheEvent } from '../../../src/model/coherence/cache-counts.js';
import { Window } from '../../../src/model/window.js';

const NOTHING = {
  lookups: 0,
  hits: 0,
  misses: 0,
  merged: 0,
  evictions: 0,
  writebacks: 0,
  interventions: 0,
  staleReads: 0,
};

test('counts by master what lies in the window, a lookup once whatever it comes to', () => {
  const counts = new CacheCounts('L2', new Window(100, 200), 2);
  for (const timePs of [99, 100, 150, 300]) {
    counts.looked(0, 'hits', timePs);
    counts.looked(0, 'merged', timePs);
    counts.looked(1, 'misses', timePs);
    counts.add(1, 'evictions', timePs);
    counts.add(1, 'staleReads', timePs, 5);
  }
  expect(counts.of(0)).toEqual({ ...NOTHING, lookups: 4, hits: 2, merged: 2 });
  expect(counts.of(1)).toEqual({ ...NOTHING, lookups: 2, misses: 2, evictions: 2, staleReads: 10 });
});

test('lists the masters that did anything at all', () => {
  for (const event of ['evictions', 'writebacks', 'interventions', 'staleReads'] satisfies CacheEvent[]) {
    const counts = new CacheCounts('L2', new Window(0, 100), 3);
    counts.add(1, event, 5);
    expect([...counts.used()]).toEqual([[1, { ...NOTHING, [event]: 1 }]]);
  }
  const looked = new CacheCounts('L2', new Window(0, 100), 3);
  looked.looked(2, 'hits', 5);
  expect([...looked.used()].map(([master]) => master)).toEqual([2]);
});

test('a count that another one equals takes neither off the list', () => {
  for (const event of ['evictions', 'writebacks', 'interventions', 'staleReads'] satisfies CacheEvent[]) {
    const counts = new CacheCounts('L2', new Window(0, 100), 1);
    counts.looked(0, 'misses', 5);
    counts.add(0, event, 5);
    expect([...counts.used()]).toHaveLength(1);
  }
});
