import { describe, expect, it } from 'vitest';
import {
  beatAddresses,
  beatsNeeded,
  burstProblem,
  byteLanes,
  wrapAddresses,
  type BurstShape,
} from '../../src/traffic/beats.js';

// The worked examples and section numbers are those of ARM IHI 0022 Issue E (AMBA AXI and ACE Protocol Specification).

const incr = (start: number, beats: number, size: number, bus = size): BurstShape => ({
  type: 'INCR',
  start,
  beats,
  size,
  bus,
});

const wrap = (start: number, beats: number, size: number) => burstProblem({ type: 'WRAP', start, beats, size, bus: 8 });

const lanes = (start: number, size: number, beats: number, bus: number) =>
  beatAddresses(start, size, beats).map((address) => byteLanes(address, size, bus));

describe('burstProblem', () => {
  it('allows INCR of 256 beats on AXI4 and of 16 on AXI3 (A3.4.1)', () => {
    expect(burstProblem(incr(0x1000, 256, 8), 'AXI4')).toBeNull();
    expect(burstProblem(incr(0x1000, 256, 8), 'AXI3')).toBe('INCR beats: must be 1 to 16 on AXI3, got 256');
    expect(burstProblem(incr(0x1000, 16, 8), 'AXI3')).toBeNull();
    expect(burstProblem(incr(0x1000, 257, 1), 'AXI4')).toBe('INCR beats: must be 1 to 256 on AXI4, got 257');
  });

  it('allows FIXED of at most 16 beats (A3.4.1)', () => {
    expect(burstProblem({ ...incr(0, 17, 4), type: 'FIXED' })).toBe('FIXED beats: must be 1 to 16 on AXI4, got 17');
    expect(burstProblem({ ...incr(0, 16, 4), type: 'FIXED' })).toBeNull();
  });

  it('allows WRAP of 2, 4, 8 and 16 beats from a start aligned to the size (A3.4.1)', () => {
    expect([2, 4, 8, 16].map((beats) => wrap(0x38, beats, 8))).toEqual([null, null, null, null]);
    expect(wrap(0x38, 3, 8)).toMatch(/^WRAP beats/);
    expect(wrap(0x38, 1, 8)).toMatch(/^WRAP beats/);
    expect(wrap(0x1036, 4, 4)).toMatch(/^WRAP start/);
  });

  it('allows no beat wider than the bus (A3.4.1): 16 bytes on 64 bits is illegal', () => {
    expect(burstProblem(incr(0, 1, 16, 8))).toBe('beat size: must be at most the bus width of 8 bytes, got 16');
    expect([1, 2, 4, 8, 16, 32, 64, 128].map((size) => burstProblem(incr(0, 1, size)))).toEqual(
      Array.from({ length: 8 }, () => null),
    );
    expect(burstProblem(incr(0, 1, 3, 8))).toMatch(/^beat size/);
    expect(burstProblem(incr(0, 1, 8, 256))).toMatch(/^bus/);
  });

  it('measures the 4 KiB rule from the aligned start (A3.4.1): 4 bytes at 0x0FFE end at 0x0FFF', () => {
    expect(burstProblem(incr(0x0ffe, 1, 4))).toBeNull();
    expect(burstProblem(incr(0x0ffe, 2, 4))).toMatch(/^INCR burst: must not cross/);
    expect(burstProblem(incr(0x1000, 256, 16))).toBeNull();
    expect(burstProblem(incr(0x1000, 129, 32))).toMatch(/^INCR burst: must not cross/);
  });

  it('lets a WRAP burst start at the last word of a 4 KiB block (A3.4.1)', () => {
    expect(burstProblem({ type: 'WRAP', start: 0xffc, beats: 16, size: 4, bus: 4 })).toBeNull();
  });
});

describe('beatAddresses', () => {
  it('only the first beat keeps an unaligned start (A3.4.1)', () => {
    expect(beatAddresses(0x1003, 4, 4)).toEqual([0x1003, 0x1004, 0x1008, 0x100c]);
    expect(beatAddresses(0x7, 4, 4)).toEqual([0x7, 0x8, 0xc, 0x10]);
    expect(beatAddresses(0x4, 4, 3)).toEqual([0x4, 0x8, 0xc]);
  });
});

describe('wrapAddresses', () => {
  it('folds back at the end of the container (A3.4.1)', () => {
    expect(wrapAddresses(0x1038, 8, 4)).toEqual([0x1038, 0x1020, 0x1028, 0x1030]);
    expect(wrapAddresses(0x34, 4, 8)).toEqual([0x34, 0x38, 0x3c, 0x20, 0x24, 0x28, 0x2c, 0x30]);
    expect(wrapAddresses(0x118, 8, 8)).toEqual([0x118, 0x120, 0x128, 0x130, 0x138, 0x100, 0x108, 0x110]);
    expect(wrapAddresses(0x8, 4, 2)).toEqual([0x8, 0xc]);
    const rest = Array.from({ length: 15 }, (_, beat) => 0xfc0 + 4 * beat);
    expect(wrapAddresses(0xffc, 4, 16)).toEqual([0xffc, ...rest]);
  });

  it('refuses a start that is not aligned to the size and a length that does not wrap (A3.4.1)', () => {
    expect(() => wrapAddresses(0x1036, 4, 4)).toThrow(RangeError);
    expect(() => wrapAddresses(0x1038, 8, 3)).toThrow(RangeError);
  });
});

describe('byteLanes', () => {
  it('narrow beats walk across the lanes of the bus (A3.4.3)', () => {
    expect(lanes(0x0, 1, 5, 4)).toEqual([
      [0, 0],
      [1, 1],
      [2, 2],
      [3, 3],
      [0, 0],
    ]);
    expect(lanes(0x4, 4, 3, 8)).toEqual([
      [4, 7],
      [0, 3],
      [4, 7],
    ]);
    expect(lanes(0x1003, 4, 4, 8)).toEqual([
      [3, 3],
      [4, 7],
      [0, 3],
      [4, 7],
    ]);
  });

  it('the first beat of an unaligned burst ends with its slot: 4 beats of 4 from 0x7 carry 13 bytes (A3.4.3)', () => {
    const found = lanes(0x7, 4, 4, 4);
    expect(found).toEqual([
      [3, 3],
      [0, 3],
      [0, 3],
      [0, 3],
    ]);
    expect(found.reduce((sum, [first, last]) => sum + last - first + 1, 0)).toBe(13);
  });
});

describe('beatsNeeded', () => {
  it('counts an unaligned start (A3.4.3)', () => {
    expect(beatsNeeded(0x1, 16, 4)).toBe(5);
    expect(beatsNeeded(0x7, 13, 4)).toBe(4);
    expect(beatsNeeded(0xff3, 1000, 8)).toBe(126);
    expect(beatsNeeded(0xff0, 1000, 8)).toBe(125);
  });

  it('64 bytes of 4-byte beats on a 64-bit bus take 16 beats instead of 8 (A3.4.3)', () => {
    expect([beatsNeeded(0, 64, 4), beatsNeeded(0, 64, 8)]).toEqual([16, 8]);
  });

  it('16 beats of 4 bytes at 0x40 become 4 beats on a 128-bit bus (A4.3)', () => {
    expect(beatsNeeded(0x40, 16 * 4, 16)).toBe(4);
  });

  it('64 bytes at 0x40 take 16, 8 and 4 beats on 32, 64 and 128 bits (A3.4.1)', () => {
    expect([4, 8, 16].map((size) => beatsNeeded(0x40, 64, size))).toEqual([16, 8, 4]);
  });
});
