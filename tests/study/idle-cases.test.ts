import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { readScenario } from '../../src/scenario/read.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { checkSystem, checkSystems } from '../../src/study/check.js';

const URL_OF = (name: string): URL => new URL(`../../scenarios/${name}`, import.meta.url);

function systemsOf(name: string): SystemSpec[] {
  const url = URL_OF(name);
  return readScenario(readFileSync(url), url.pathname, { readFile: (path) => readFileSync(new URL(path, url)) })
    .systems;
}

/** A copy with one thing changed. */
function changed(system: SystemSpec, change: (copy: SystemSpec) => void): SystemSpec {
  const copy = structuredClone(system);
  change(copy);
  return copy;
}

const [coherent, fabric] = systemsOf('grain-sorter.yaml') as [SystemSpec, SystemSpec];

test('what placements share is worked out once, and is what each would have by itself', () => {
  const together = checkSystems([coherent, fabric, coherent]);
  expect(together).toEqual([coherent, fabric, coherent].map((system) => checkSystem(system)));
  const casesOf = (place: number, name: string) => together[place]!.paths.find(({ master }) => master === name)!.cases;
  expect(casesOf(0, 'ethernet')).toBe(casesOf(1, 'ethernet'));
  expect(casesOf(0, 'camera')).not.toBe(casesOf(1, 'camera'));
});

const master = (system: SystemSpec, name: string) => system.masters.find((one) => one.name === name)!;

test.each<[string, (copy: SystemSpec) => void]>([
  ['the clock of a master', (copy) => (master(copy, 'ethernet').clock = master(copy, 'camera').clock)],
  ['the synchroniser of a master', (copy) => copy.masters.forEach((one) => (one.syncCycles += 3))],
  ['the width of a master', (copy) => (master(copy, 'ethernet').widthBytes *= 2)],
  ['where a master is attached', (copy) => (master(copy, 'ethernet').attach = master(copy, 'archiver').attach)],
  ['the bytes of its first burst', (copy) => (master(copy, 'ethernet').size = { kind: 'fixed', value: 8 })],
  ['the period of a clock', (copy) => (copy.clocks.get(master(copy, 'ethernet').clock!)!.numerator += 1000)],
  ['a delay on the way', (copy) => copy.elements.forEach((one) => 'forwardCycles' in one && (one.forwardCycles += 1))],
  [
    'a timing of the memory',
    (copy) => copy.elements.forEach((one) => one.kind === 'ddr' && (one.timing.tckNumerator *= 2)),
  ],
  ['where a buffer lies', (copy) => copy.buffers.forEach((one) => (one.baseBytes += 12))],
])('a path is not taken for a known one when this changes: %s', (_name, change) => {
  const other = changed(fabric, change);
  const [, together] = checkSystems([fabric, other]);
  const alone = checkSystem(other);
  expect(together).toEqual(alone);
  expect(together!.paths).not.toEqual(checkSystem(fabric).paths);
});
