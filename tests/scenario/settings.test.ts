import { describe, expect, it } from 'vitest';
import { ScenarioError } from '../../src/errors.js';
import { readScenario } from '../../src/scenario/read.js';
import type { Scenario } from '../../src/scenario/scenario.js';
import { TINY } from '../cli/rig.js';

const OWN = TINY.replace('direct: {}', 'direct: { buffers: { samples: { size: 8 KiB } } }');

const withSettings = (...settings: [string, string][]): Scenario =>
  readScenario(
    OWN,
    'tiny.yaml',
    { readFile: () => '' },
    settings.map(([key, value]) => ({ key, value })),
  );

describe('a setting', () => {
  it('lies over the file and its placements', () => {
    expect(withSettings().systems.map(({ buffers }) => buffers[0]!.bytes)).toEqual([8192, 65_536]);
    const both = withSettings(['buffers.samples.size', '16 KiB'], ['masters.reader.outstanding', '3']);
    expect(both.systems.map(({ buffers }) => buffers[0]!.bytes)).toEqual([16_384, 16_384]);
    expect(both.systems.map(({ masters }) => masters[0]!.maxReads)).toEqual([3, 3]);
  });

  it('reaches into the preset, and what holds several keys', () => {
    const { systems } = withSettings(
      ['platform.coherence.cluster.l2.size', '512 KiB'],
      ['masters.reader.issue', '{ process: greedy }'],
    );
    const unit = systems[0]!.elements.find(({ kind }) => kind === 'coherence')!;
    expect('l2' in unit && unit.l2!.bytes).toBe(524_288);
    expect(systems[0]!.masters[0]!.issue.process).toBe('greedy');
  });

  it.each([
    [
      'buffers.sampels.size',
      '1 KiB',
      "buffers.sampels.size=1 KiB:1:1  buffers.sampels.size: there is no 'sampels' in buffers",
    ],
    ['buffers.samples.sise', '1 KiB', 'unknown key'],
    ['buffers.samples.size', '12', '12 has no unit'],
    ['platform.ports.fabric9.width', '64 bit', "there is no 'fabric9' in platform.ports"],
    ['placements.direct', '1', 'is no key that can be set for all placements'],
    ['masters..size', '1', 'is no key that can be set for all placements'],
    ['masters.reader.issue', '{ process:', 'has a value that cannot be read'],
  ])('%s=%s is told with its key and value', (key, value, words) => {
    let told = '';
    try {
      withSettings([key, value]);
    } catch (error) {
      expect(error).toBeInstanceOf(ScenarioError);
      told = (error as Error).message;
    }
    expect(told).toContain(words);
    expect(told).toContain(`${key}=${value}`);
  });
});
