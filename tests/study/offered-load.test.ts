import { describe, expect, test } from 'vitest';
import { loadOf } from '../../src/study/offered-load.js';
import { read } from '../scenario/reading.js';

const text = (steps: string, issue = 'silent') => `platform: { preset: quad-core-fabric }
buffers: { frame: { memory: ddr, size: 64 KiB, cached: no } }
masters:
  grabber: { attach: fabric0, buffer: frame, operations: write, issue: ${issue} }
  reader: { attach: fabric1, buffer: frame, operations: read, issue: silent }
tasks:
  grab:
    trigger: { process: periodic, every: 10 us }
    steps: [${steps}]
  look:
    trigger: { process: after, task: grab }
    steps: [{ do: read, master: reader, bytes: 2 KiB }]
`;
const GRAB = '{ do: write, master: grabber, bytes: 4 KiB }';

function offered(scenario: string): Record<string, number> {
  const { channels } = loadOf(read(scenario).systems[0]!);
  return Object.fromEntries(
    channels.map(({ element, channel, offeredBytesPerS }) => [`${element} ${channel}`, offeredBytesPerS]),
  );
}

describe('the offered load', () => {
  test('holds what tasks ask of masters, a task after another as often as that', () => {
    const load = offered(text(GRAB));
    expect(load['fabric0 write']).toBeCloseTo(409.6e6, 0);
    expect(load['fabric1 read']).toBeCloseTo(204.8e6, 0);
    expect(load['ddr data']).toBeCloseTo(614.4e6, 0);
  });

  test('adds it to what the master wants itself, unless that takes what it gets', () => {
    expect(offered(text(GRAB, '{ process: poisson, rate: 100 MB/s }'))['fabric0 write']).toBeCloseTo(509.6e6, 0);
    expect(offered(text(GRAB, 'greedy'))['fabric0 write']).toBeUndefined();
  });

  test('says which paths ask for more than an element can carry', () => {
    const [system] = read(text('{ do: write, master: grabber, bytes: 64 KiB }')).systems;
    expect([...loadOf(system!).overloadedPaths]).toContain('grabber write');
    expect([...loadOf(read(text(GRAB)).systems[0]!).overloadedPaths]).toEqual([]);
  });
});
