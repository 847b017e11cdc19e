import { describe, expect, it } from 'vitest';
import { PROBLEM_CODES } from '../../src/errors.js';
import { at, changed, placesOf, problemsOf, read, sentencesOf, SMALL } from './reading.js';

describe('keys', () => {
  it('the small scenario itself has no problem', () => {
    expect(read(SMALL).systems).toHaveLength(1);
  });

  it('an unknown key is told with the nearest known one', () => {
    const text = changed('width: 64 bit, to', 'widht: 64 bit, to');
    expect(placesOf(text)).toContain('4:23 unknown_key platform.ports.p0.widht');
    expect(sentencesOf(text)).toContain(`platform.ports.p0.widht: unknown key; did you mean 'width'?`);
  });

  it('keys of another process are unknown, with the keys of the one that is chosen', () => {
    const text = changed('issue: greedy', 'issue: { process: dependent, rate: 3 MB/s }');
    expect(sentencesOf(text)).toContain('camera.issue.rate: unknown key; known: process, think');
  });

  it('an unknown block at the top is told once, however many placements there are', () => {
    expect(placesOf(`${SMALL}mastres: 1\nplacements: { a: {}, b: {} }\n`)).toEqual(['14:1 unknown_key mastres']);
  });

  it('a duplicate key is told at the second one', () => {
    expect(placesOf('run: {}\nrun: {}\n')).toEqual(['2:1 duplicate_key run']);
  });

  it('a missing key is told at its mapping, with an example', () => {
    const text = changed(', buffer: lines', '');
    expect(placesOf(text)).toEqual(['13:11 missing_key masters.camera.buffer']);
    expect(sentencesOf(text)).toContain(`add e.g. 'buffer: lines'`);
  });

  it('a key without a value is not silently left out', () => {
    const text = changed(', issue: greedy', ', issue: ');
    expect(placesOf(text)).toContain(`${at(text, 'issue')} nothing_to_remove masters.camera.issue`);
  });

  it('names of object properties are refused or harmless', () => {
    expect(placesOf(changed('camera:', '__proto__:'))).toContain('13:3 bad_name masters.__proto__');
    expect(read(changed('camera:', 'constructor:')).systems[0]!.masters[0]!.name).toBe('constructor');
  });

  it('a name that begins with a digit is refused, so that no order of names can change', () => {
    expect(placesOf(changed('camera:', '10:'))).toEqual(['13:3 bad_name masters.10']);
  });
});

describe('quantities', () => {
  it('a bare number is told what to write', () => {
    const text = changed('bus: 200 MHz', 'bus: 533');
    expect(placesOf(text)).toEqual(['2:18 missing_unit platform.clocks.bus']);
    expect(sentencesOf(text)).toContain(
      `sample.yaml:2:18  platform.clocks.bus: 533 has no unit; write e.g. '533 MHz'\n` +
        `      clocks: { bus: 533, fast: 400 MHz }\n` +
        `                     ^`,
    );
  });

  it('a unit of another dimension is told', () => {
    const text = changed('width: 64 bit, to', 'width: 64 ns, to');
    expect(placesOf(text)).toEqual([`${at(text, '64 ns')} wrong_unit platform.ports.p0.width`]);
  });

  it.each([
    ['-2 cycles', 'out_of_range'],
    ['0 cycles', 'out_of_range'],
    ['1.5 cycles', 'out_of_range'],
    ['2', 'missing_unit'],
    ['[2]', 'wrong_type'],
  ])('an access of %s is %s', (written, code) => {
    const text = changed('access: 2 cycles', `access: ${written}`);
    expect(placesOf(text)).toEqual([`${at(text, `${written} }`)} ${code} platform.memories.near.access`]);
  });

  it('a burst has 1 to 256 beats', () => {
    for (const beats of ['0 beats', '257 beats', '300 beats']) {
      const text = changed('issue: greedy', `issue: greedy, burst: ${beats}`);
      expect(placesOf(text)).toEqual([`${at(text, beats)} out_of_range masters.camera.burst`]);
      expect(sentencesOf(text)).toContain(
        `masters.camera.burst: must be 1 to 256 beats, got ${beats}; write e.g. '16 beats'`,
      );
    }
    expect(read(changed('issue: greedy', 'issue: greedy, burst: 256 beats')).systems[0]!.masters[0]!.burstBeats).toBe(
      256,
    );
  });

  it('outstanding 0 is refused, alone and for one direction', () => {
    const both = changed('issue: greedy', 'issue: greedy, outstanding: 0');
    expect(placesOf(both)).toEqual([`${at(both, '0 }')} out_of_range masters.camera.outstanding`]);
    const one = changed('issue: greedy', 'issue: greedy, outstanding: { reads: 0, writes: 2 }');
    expect(placesOf(one)).toEqual([`${at(one, '0, writes')} out_of_range masters.camera.outstanding.reads`]);
  });

  it('a time that rounds to zero is refused', () => {
    const text = changed('issue: greedy', 'issue: greedy, start: 0.4 ps');
    expect(placesOf(text)).toEqual([`${at(text, '0.4 ps')} rounds_to_zero masters.camera.start`]);
  });

  it('Mb/s never suggests the unit that is eight times as large', () => {
    const text = changed('issue: greedy', 'issue: { process: poisson, rate: 100 Mb/s }');
    expect(sentencesOf(text)).toContain(`write 'Mbit/s' for bits`);
    expect(sentencesOf(text)).not.toContain('MB/s');
  });

  it('a rate and a distance of requests are not taken together', () => {
    const text = changed('issue: greedy', 'issue: { process: poisson, rate: 1 MB/s, every: 2 us }');
    expect(placesOf(text)).toEqual([`${at(text, '{ process')} conflict masters.camera.issue`]);
  });
});

describe('names of things', () => {
  it.each([
    ['attach: p0', 'attach: p1', 'p1', 'unknown_name masters.camera.attach'],
    ['buffer: lines', 'buffer: linse', 'linse', 'unknown_name masters.camera.buffer'],
    ['memory: ddr', 'memory: dram', 'dram', 'unknown_name buffers.lines.memory'],
    ['grade: DDR3-1600K', 'grade: DDR3-1600Z', 'DDR3-1600Z', 'unknown_name platform.memories.ddr.grade'],
    ['clock: bus', 'clock: buss', 'buss', 'unknown_name platform.ports.p0.clock'],
    ['[ddr, near]', '[ddr, far]', 'far', 'unknown_name platform.switches.cross.to[1]'],
    ['clocks:', 'preset: quad-cor-fabric\n  clocks:', 'quad-cor-fabric', 'unknown_name platform.preset'],
    [
      'issue: greedy',
      'issue: greedy, preset: gigabit_ethernt',
      'gigabit_ethernt',
      'unknown_name masters.camera.preset',
    ],
    ['operations: write', 'operations: wriet', 'wriet', 'unknown_choice masters.camera.operations'],
    ['issue: greedy', 'issue: { process: poison }', 'poison', 'unknown_choice masters.camera.issue.process'],
  ])('%s → %s', (from, to, piece, expected) => {
    const text = changed(from, to);
    expect(placesOf(text)).toContain(`${at(text, piece)} ${expected}`);
  });

  it('several mistakes of one file are told together, in the order of the file', () => {
    const text = changed('attach: p0', 'attach: p1')
      .replace('bus: 200 MHz', 'bus: 200')
      .replace('size: 1 MiB', 'size: 1 Mib');
    expect(problemsOf(text).map(({ line }) => line)).toEqual([2, 11, 13]);
  });

  it('only cores are attached to a coherence unit, and cores to nothing else', () => {
    const platform = 'platform: { preset: quad-core-fabric }\nbuffers: { a: { memory: ddr, size: 1 MiB } }\nmasters:\n';
    const master = 'buffer: a, operations: read, issue: greedy';
    expect(placesOf(`${platform}  m: { attach: cluster, ${master} }\n`)).toEqual(['4:16 conflict masters.m.attach']);
    expect(placesOf(`${platform}  m: { core: yes, attach: fabric0, ${master} }\n`)).toEqual([
      '4:27 conflict masters.m.attach',
    ]);
  });

  it('two elements must not share a name', () => {
    expect(placesOf(changed('cross: {', 'p0: { clock: fast, width: 128 bit, to: ddr }\n    cross: {'))).toContain(
      '6:5 name_clash platform.switches.p0',
    );
  });

  it('arbitration names inputs that there are', () => {
    const text = changed('to: [ddr, near]', 'to: [ddr, near], arbitration: { policy: weighted, weights: { p9: 2 } }');
    expect(placesOf(text)).toEqual([
      `${at(text, 'p9: 2')} unknown_name platform.switches.cross.arbitration.weights.p9`,
    ]);
  });

  it('time slots without one for every input are refused', () => {
    const slots = 'arbitration: { policy: time_slots, slots: [{ input: none, cycles: 4 cycles }] }';
    const text = changed('to: [ddr, near]', `to: [ddr, near], ${slots}`);
    expect(placesOf(text)).toEqual([`${at(text, '{ policy')} conflict platform.switches.cross.arbitration`]);
  });
});

describe('codes', () => {
  it('every problem has a code of the closed list, a place from 1 and a rule', () => {
    const problems = problemsOf(changed('width: 64 bit', 'widht: 0').replace('greedy', 'gredy').replace('1 MiB', '1'));
    expect(problems.length).toBeGreaterThan(3);
    for (const { code, line, column, message, file } of problems) {
      expect(PROBLEM_CODES).toContain(code);
      expect(Math.min(line, column)).toBeGreaterThanOrEqual(1);
      expect(message).not.toBe('');
      expect(file).toBe('sample.yaml');
    }
  });
});
