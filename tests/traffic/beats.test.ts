import { describe, expect, it } from 'vitest';
import {
  beatAddresses,
  beatsNeeded,
  burstProblem,
  byteLanes,
  bytesOfBeat,
  wrapAddresses,
  type BurstShape,
} from '../../src/traffic/beats.js';

// Worked examples of legal bursts and of WRAP are in ../validation/bus. Those here, with their section numbers, are from ARM IHI
// 0022 Issue E (AMBA AXI and ACE Protocol Specification).

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
  it('says how many beats a burst of each type may have', () => {
    expect(burstProblem(incr(0x1000, 17, 8), 'AXI3')).toBe('INCR beats: must be 1 to 16 on AXI3, got 17');
    expect(burstProblem(incr(0x1000, 16, 8), 'AXI3')).toBeNull();
    expect(burstProblem(incr(0x1000, 257, 1), 'AXI4')).toBe('INCR beats: must be 1 to 256 on AXI4, got 257');
    expect(burstProblem({ ...incr(0, 18, 4), type: 'FIXED' })).toBe('FIXED beats: must be 1 to 16 on AXI4, got 18');
    expect(burstProblem({ ...incr(0, 16, 4), type: 'FIXED' })).toBeNull();
    expect([2, 4, 8, 16].map((beats) => wrap(0x40, beats, 8))).toEqual([null, null, null, null]);
    expect(wrap(0x40, 5, 8)).toBe('WRAP beats: must be 2, 4, 8 or 16, got 5');
    expect(wrap(0x42, 4, 4)).toBe('WRAP start: must be a multiple of 4, got 66');
  });

  it('says how wide a beat may be', () => {
    expect(burstProblem(incr(0, 1, 32, 8))).toBe('beat size: must be at most the bus width of 8 bytes, got 32');
    expect([1, 2, 4, 8, 16, 32, 64, 128].map((size) => burstProblem(incr(0, 1, size)))).toEqual(
      Array.from({ length: 8 }, () => null),
    );
    expect(burstProblem(incr(0, 1, 3, 8))).toMatch(/^beat size/);
    expect(burstProblem(incr(0, 1, 8, 256))).toMatch(/^bus/);
  });

  it('says where a burst crosses 4 KiB', () => {
    expect(burstProblem(incr(0x0ffe, 2, 4))).toMatch(/^INCR burst: must not cross/);
    expect(burstProblem(incr(0x1000, 256, 16))).toBeNull();
    expect(burstProblem(incr(0x1000, 129, 32))).toMatch(/^INCR burst: must not cross/);
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

describe('bytesOfBeat', () => {
  it('the first beat and the last have what of the burst lies in them, those between are full', () => {
    const of = (address: number, end: number, beats: number[], size: number): number[] =>
      beats.map((beat) => bytesOfBeat(address, end, beat, size));
    expect(of(6, 29, [1, 2, 3, 4, 5, 6, 7], 4)).toEqual([2, 4, 4, 4, 4, 4, 1]);
    expect(of(6, 29, [0, 1], 16)).toEqual([10, 13]);
    expect(of(17, 19, [1], 16)).toEqual([2]);
  });
});
