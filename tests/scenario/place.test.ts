import { describe, expect, it } from 'vitest';
import { assignmentReader } from '../../src/scenario/read.js';
import { problemsOf, read } from './reading.js';

const TEXT = `platform: { preset: quad-core-fabric }
buffers: { frame: { memory: ddr, size: 64 KiB, cached: no } }
masters:
  eye_read: { group: eye, attach: fabric0, operations: read, buffer: frame, issue: greedy }
  eye_write: { group: eye, attach: fabric0, operations: write, buffer: frame, issue: greedy }
  hand: { attach: fabric1, operations: read, buffer: frame, issue: greedy }
placements:
  plain: {}
  narrow: { attach: { eye: fabric2, hand: fabric2 }, masters: { hand: { qos: 3 } } }
`;
const place = (mayAttach: string, best = '{ kind: latency, master: hand }'): string =>
  `${TEXT}place: { may_attach: ${mayAttach}, best: ${best} }\n`;

const GOOD = place('{ eye: [coherent0, fabric0], hand: [fabric1, general0] }');

describe('place', () => {
  it('says who may attach where, and what is best', () => {
    expect(read(GOOD).place).toEqual({
      mayAttach: new Map([
        ['eye', ['coherent0', 'fabric0']],
        ['hand', ['fabric1', 'general0']],
      ]),
      best: { name: 'best', kind: 'latency', master: 'hand', operation: null, level: 'burst', percentile: null },
      share: false,
    });
    expect(read(TEXT).place).toBeNull();
  });

  it.each([
    ['{ ey: [fabric0] }', `unknown group or master 'ey'`, `did you mean 'eye'?`],
    ['{ eye: [fabric9] }', `unknown port, coherence unit or device 'fabric9'`, 'did you mean'],
    ['{ eye: [fabric0], eye_read: [fabric1] }', `moves eye_read, which 'eye' moves too`, 'delete one'],
    ['{ eye: [fabric0, fabric0] }', 'is there twice', 'delete one'],
    ['{ eye: [] }', 'must name an element', ''],
    ['{ eye: fabric0 }', 'must be a list of names', '[coherent0, fabric0]'],
  ])('%s is told with its place', (mayAttach, message, hint) => {
    const problems = problemsOf(place(mayAttach));
    expect(problems.map((problem) => problem.message).join('\n')).toContain(message);
    expect(problems.map((problem) => problem.hint).join('\n')).toContain(hint);
    expect(problems[0]!.line).toBe(10);
  });

  it('has a goal that must be there, in the language of compare', () => {
    const goal = (best: string) => problemsOf(place('{ eye: [fabric0] }', best)).map(({ message }) => message);
    expect(goal('{ kind: latency, master: foot }')).toEqual([`unknown master 'foot'`]);
    expect(goal('{ kind: latency, master: hand, operation: write }')).toEqual(['hand has no writes']);
    expect(goal('{ kind: speed }').length).toBe(1);
  });
});

describe('an assignment', () => {
  const reader = (placement: string | null) => {
    const assign = assignmentReader(GOOD, 'sample.yaml', { readFile: () => '' }, placement);
    return (attachment: Record<string, string>) => assign(new Map(Object.entries(attachment)));
  };

  it('is a placement that moves whole groups', () => {
    const assigned = reader(null)({ eye: 'coherent0', hand: 'general0' });
    if (!('system' in assigned)) throw new Error('no system');
    expect(assigned.system.masters.map(({ attach }) => attach)).toEqual(['coherent0', 'coherent0', 'general0']);
    // the width that is not stated is that of the port
    expect(assigned.system.masters[2]!.widthBytes).toBe(8);
    expect(assigned.system.masters[2]!.qos).toBe(0);
  });

  it('lies over a placement, of which it keeps all else', () => {
    const assigned = reader('narrow')({ hand: 'general0' });
    if (!('system' in assigned)) throw new Error('no system');
    expect(assigned.system.placement).toBe('narrow');
    expect(assigned.system.masters.map(({ attach }) => attach)).toEqual(['fabric2', 'fabric2', 'general0']);
    expect(assigned.system.masters[2]!.qos).toBe(3);
  });

  it('that is refused says why, at the name in place', () => {
    const assigned = reader(null)({ eye: 'cluster' });
    if (!('problems' in assigned)) throw new Error('no problem');
    expect(assigned.problems[0]!.message).toContain('must be a port or device');
  });
});
