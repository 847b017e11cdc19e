import { describe, expect, it } from 'vitest';
import type { MasterSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { at, changed, placesOf, read, sentencesOf, SMALL } from './reading.js';

const TWO = `${SMALL}  reader: { attach: p0, group: eye, operations: read, buffer: lines, issue: greedy }
  writer: { attach: p0, group: eye, operations: write, buffer: lines, issue: greedy }
`;

function system(text: string, placement: string): SystemSpec {
  const found = read(text).systems.find((candidate) => candidate.placement === placement);
  if (found === undefined) throw new Error(placement);
  return found;
}

function master(text: string, placement: string, name: string): MasterSpec {
  return system(text, placement).masters.find((candidate) => candidate.name === name)!;
}

describe('placements', () => {
  it('without any there is one system, base', () => {
    expect(read(SMALL).systems.map(({ placement }) => placement)).toEqual(['base']);
  });

  it('each is a system of its own, in the order of the file; one without value is the file itself', () => {
    const text = `${SMALL}placements:\n  z:\n  a: {}\n`;
    expect(read(text).systems.map(({ placement }) => placement)).toEqual(['z', 'a']);
    expect({ ...system(text, 'z'), placement: '' }).toEqual({ ...system(SMALL, 'base'), placement: '' });
  });

  it('change any key by name and leave the others', () => {
    const text = `${SMALL}placements:
  quick:
    platform: { switches: { cross: { forward: 5 cycles } } }
    buffers: { lines: { size: 2 MiB } }
    masters: { camera: { burst: 4 beats } }
    run: { replications: 3 }
`;
    const { elements, buffers, masters, run } = system(text, 'quick');
    const cross = elements.find(({ name }) => name === 'cross')!;
    expect([cross.kind === 'switch' && cross.forwardCycles, cross.widthBytes]).toEqual([5, 16]);
    expect([buffers[0]!.bytes, buffers[0]!.memory, masters[0]!.burstBeats, run.replications]).toEqual([
      2 ** 21,
      'ddr',
      4,
      3,
    ]);
  });

  it('move a group, or one master', () => {
    const ports = TWO.replace('p0: {', 'p1: { clock: bus, width: 32 bit, to: cross }\n    p0: {');
    const text = `${ports}placements: { all: { attach: { eye: p1 } }, one: { attach: { reader: p1 } } }\n`;
    const attached = (placement: string): string[] => system(text, placement).masters.map(({ attach }) => attach);
    expect(attached('all')).toEqual(['p0', 'p1', 'p1']);
    expect(attached('one')).toEqual(['p0', 'p1', 'p0']);
    expect(master(text, 'all', 'reader').widthBytes).toBe(4);
  });

  it('another process or distribution replaces the old one whole', () => {
    const text = `${changed('issue: greedy', 'issue: { process: poisson, rate: 9 MB/s }, size: { exponential: { mean: 64 B } }')}placements:
  a: { masters: { camera: { issue: { process: dependent }, size: { uniform: [4 B, 8 B] } } } }
  b: { masters: { camera: { issue: { every: 3 us } } } }
`;
    expect(master(text, 'a', 'camera').issue).toEqual({ process: 'dependent', think: { kind: 'fixed', value: 0 } });
    expect(master(text, 'a', 'camera').size).toEqual({ kind: 'uniform', low: 4, high: 8 });
    expect(master(text, 'b', 'camera').issue).toMatchObject({
      process: 'poisson',
      pace: { kind: 'every', everyPs: 3e6 },
    });
  });

  it('null removes what lies beneath', () => {
    const text = `${TWO}placements: { less: { masters: { writer: null } }, all: {} }\n`;
    expect(system(text, 'less').masters.map(({ name }) => name)).toEqual(['camera', 'reader']);
    expect(system(text, 'all').masters).toHaveLength(3);
  });

  it('a mistake in one is told where it was written, and one of the file once', () => {
    const text = `${changed('200 MHz', '200')}placements: { a: { masters: { camera: { qos: 99 } } }, b: {} }\n`;
    expect(placesOf(text)).toEqual([
      `${at(text, '200, fast')} missing_unit platform.clocks.bus`,
      `${at(text, '99 }')} out_of_range placements.a.masters.camera.qos`,
    ]);
  });

  it('a slip in the name of a master is told as that', () => {
    const text = `${SMALL}placements: { a: { masters: { camra: { qos: 2 } }, attach: { camer: p0 } } }\n`;
    expect(placesOf(text)).toEqual([
      `${at(text, 'camra')} unknown_name placements.a.masters.camra`,
      `${at(text, 'camer:')} unknown_name placements.a.attach.camer`,
    ]);
    expect(sentencesOf(text)).toContain(`did you mean 'camera'?`);
  });
});

describe('defaults', () => {
  it('clock and width come from what a master is attached to; a request is one full burst', () => {
    expect(master(SMALL, 'base', 'camera')).toMatchObject({
      clock: 'bus',
      widthBytes: 8,
      burstBeats: 16,
      size: { kind: 'fixed', value: 128 },
      maxReads: 8,
      maxWrites: 8,
      readShare: 0,
      pattern: { pattern: 'sequential' },
      stopPs: Infinity,
      core: null,
    });
  });

  it('clock: none is no clock, at masters and at devices', () => {
    expect(master(changed('issue: greedy', 'issue: greedy, clock: none'), 'base', 'camera').clock).toBeNull();
  });

  it('buffers are cached in DDR and not elsewhere', () => {
    const text = SMALL.replace('masters:', '  a: { memory: near, size: 1 KiB }\nmasters:');
    expect(system(text, 'base').buffers.map(({ cached }) => cached)).toEqual(['yes', 'no']);
  });

  it('a core takes what platform.cores says, and may say otherwise', () => {
    const text = `platform: { preset: quad-core-fabric }
buffers: { heap: { memory: ddr, size: 1 MiB } }
masters:
  a: { core: yes, buffer: heap, operations: read, issue: greedy }
  b: { core: { hit: 9 cycles }, clock: fabric, buffer: heap, operations: read, issue: greedy }
  c: { core: no, attach: fabric0, buffer: heap, operations: read, issue: greedy }
`;
    const l1 = { bytes: 32_768, ways: 4, replacement: 'lru' };
    const { masters } = read(text).systems[0]!;
    expect(masters[0]).toMatchObject({ attach: 'cluster', clock: 'core', core: { l1, hitCycles: 2, parallelism: 4 } });
    expect(masters[0]!.size).toEqual({ kind: 'fixed', value: 8 });
    expect(masters[1]).toMatchObject({ clock: 'fabric', core: { l1, hitCycles: 9, parallelism: 4 } });
    expect(masters[2]!.core).toBeNull();
  });

  it('a peripheral takes the fields of its preset beneath its own', () => {
    const text = changed('issue: greedy', 'preset: gigabit_ethernet, outstanding: 2');
    const camera = master(text, 'base', 'camera');
    // a frame of 1518 bytes takes 1538 byte times of 8 ns
    expect(camera.issue).toMatchObject({ process: 'steady', pace: { kind: 'every', everyPs: 1538 * 8000 } });
    expect([camera.size, camera.maxReads]).toEqual([{ kind: 'fixed', value: 1518 }, 2]);
  });
});

describe('distributions', () => {
  it.each([
    ['64 B', { kind: 'fixed', value: 64 }],
    ['{ exponential: { mean: 1 KiB } }', { kind: 'exponential', mean: 1024 }],
    ['{ geometric: { mean: 96 B, unit: 32 B } }', { kind: 'geometric', mean: 3, unit: 32 }],
    ['{ lognormal: { mean: 64 B, spread: 0.5 } }', { kind: 'lognormal', mean: 64, spread: 0.5 }],
    ['{ table: [[64 B, 3], [128 B, 1]] }', { kind: 'table', values: [64, 128], weights: [3, 1] }],
  ])('%s', (written, expected) => {
    expect(master(changed('issue: greedy', `issue: greedy, size: ${written}`), 'base', 'camera').size).toEqual(
      expected,
    );
  });

  it.each([
    '{ uniform: [9 B, 8 B] }',
    '{ exponential: { mean: 1 B }, table: [[1 B, 1]] }',
    '{ table: [] }',
    '{}',
    '[1 B]',
  ])('%s is refused', (written) => {
    const text = changed('issue: greedy', `issue: greedy, size: ${written}`);
    expect(placesOf(text)).toHaveLength(1);
    expect(placesOf(text)[0]).toContain('masters.camera.size');
  });
});
