import { expect, test } from 'vitest';
import { readScenario } from '../../src/scenario/read.js';
import { figuresOf, medianOf } from './figures.js';
import { LOADS } from './loads.js';
import { byPart } from './profile.js';

test('rates are those of the median round, but for the best', () => {
  const measured = {
    seconds: [4, 1, 2],
    bursts: 1000,
    events: 8000,
    columnAccesses: 500,
    lookups: 0,
    collections: 3,
    peakBytes: 2e8,
  };
  expect(figuresOf(measured)).toEqual({
    bursts_per_s_best: 1000,
    bursts_per_s_median: 500,
    spread: 1.5,
    column_accesses_per_s: 250,
    lookups_per_s: 0,
    events_per_s: 4000,
    events_per_burst: 8,
    ns_per_burst: 2e6,
    ns_per_event: 250_000,
    young_collections: 3,
    peak_mb: 200,
  });
  expect(medianOf([1, 2, 3, 10])).toBe(2.5);
});

test('a profile is summed by file of the build, the largest first', () => {
  const node = (id: number, url: string) => ({ id, callFrame: { url } });
  const profile = {
    nodes: [
      node(1, 'file:///x/dist/model/port.js'),
      node(2, 'file:///x/node_modules/yaml/a.js'),
      node(3, ''),
      node(4, 'file:///x/dist/model/port.js'),
    ],
    samples: [1, 2, 3, 4, 1],
    timeDeltas: [10, 30, 5, 20, 35],
  };
  expect(byPart(profile)).toEqual([
    { part: 'model/port', share: 0.65 },
    { part: 'yaml', share: 0.3 },
    { part: 'node', share: 0.05 },
  ]);
});

test.each(LOADS)('load $name is a scenario', ({ name, text }) => {
  const [system] = readScenario(text(), `${name}.yaml`, { readFile: () => new Uint8Array() }).systems;
  expect(system!.masters.length).toBeGreaterThan(0);
});
