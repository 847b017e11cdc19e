import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { peripheralPresets, platformPresetNames } from '../../src/scenario/presets.js';
import type { ElementSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { starterScenario } from '../../src/scenario/starter.js';
import { read } from './reading.js';

const TRAFFIC = `buffers: { a: { memory: ddr, size: 1 MiB } }
masters: { m: { core: yes, buffer: a, operations: read, issue: silent } }
`;

function preset(name: string): SystemSpec {
  return read(`platform: { preset: ${name} }\n${TRAFFIC}`).systems[0]!;
}

function element<K extends ElementSpec['kind']>(
  system: SystemSpec,
  name: string,
  kind: K,
): Extract<ElementSpec, { kind: K }> {
  return system.elements.find((found) => found.name === name && found.kind === kind) as Extract<
    ElementSpec,
    { kind: K }
  >;
}

describe('platform presets', () => {
  it.each(platformPresetNames())('%s written out gives the same system as by name', (name) => {
    const file = new URL(`../../src/scenario/data/platforms/${name}.yaml`, import.meta.url);
    const written = read(readFileSync(file, 'utf8') + TRAFFIC).systems[0]!;
    expect(preset(name)).toEqual(written);
  });

  it('quad-core-fabric has the numbers that it is described by', () => {
    const system = preset('quad-core-fabric');
    expect(system.clocks.get('core')).toEqual({ name: 'core', numerator: 2500, denominator: 3 });
    expect(element(system, 'cluster', 'coherence')).toMatchObject({
      lookupCycles: 6,
      dataCycles: 8,
      widthBytes: 16,
      interventionCycles: 14,
      missEntries: 16,
      minMissEntries: 2,
      writebackSlots: 8,
      l2: { bytes: 2 ** 20, ways: 16, inclusive: true, replacement: 'lru' },
    });
    const ddr = element(system, 'ddr', 'ddr');
    expect(ddr).toMatchObject({
      frontCycles: 10,
      returnCycles: 6,
      readEntries: 32,
      highMark: 24,
      lowMark: 8,
      bytes: 2 ** 30,
    });
    expect(ddr.timing).toMatchObject({ grade: 'DDR3-1600K-x16', nCL: 11, tckNumerator: 1250, tckDenominator: 1 });
    expect(element(system, 'onchip', 'onchip')).toMatchObject({ bytes: 192 * 1024, widthBytes: 8, accessCycles: 2 });
  });

  it('eight-port-mobile has two channels of LPDDR4, two switches in a row and eight ports', () => {
    const system = preset('eight-port-mobile');
    const ddr = element(system, 'ddr', 'ddr');
    expect([ddr.channels, ddr.timing.busBytes, ddr.timing.standard, ddr.bytes]).toEqual([2, 2, 'LPDDR4', 2 ** 31]);
    expect(element(system, 'gather', 'switch').to).toEqual(['spine']);
    expect(system.elements.filter(({ name }) => /^edge\d$/.test(name))).toHaveLength(8);
  });

  it('a preset can be changed key by key, and elements taken out', () => {
    const text = `platform:
  preset: quad-core-fabric
  clocks: { fabric: 250 MHz }
  switches: { central: { to: [ddr, onchip, registers, fabric_registers] } }
  devices: { flash: null }
${TRAFFIC}`;
    const system = read(text).systems[0]!;
    expect(system.clocks.get('fabric')!.numerator).toBe(4000);
    expect(system.elements.some(({ name }) => name === 'flash')).toBe(false);
    expect(element(system, 'central', 'switch').widthBytes).toBe(8);
  });
});

describe('peripheral presets', () => {
  const { text, fields } = peripheralPresets();

  it.each([...fields.keys()])('%s reads on a port, and its source stands beside it', (name) => {
    const scenario = `platform: { preset: quad-core-fabric }
buffers: { a: { memory: ddr, size: 1 MiB } }
masters: { m: { preset: ${name}, attach: dma0, buffer: a, operations: write } }
`;
    expect(read(scenario).systems[0]!.masters).toHaveLength(1);
    expect(text).toMatch(new RegExp(`^${name}:\\n  source: `, 'm'));
  });
});

describe('the starter', () => {
  it('reads without a problem and shows two placements', () => {
    expect(read(starterScenario()).systems.map(({ placement }) => placement)).toEqual(['fabric', 'coherent']);
  });
});
