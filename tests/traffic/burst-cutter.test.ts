import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { burstProblem } from '../../src/traffic/beats.js';
import { BurstCutter } from '../../src/traffic/burst-cutter.js';

type Piece = [address: number, beats: number, bytes: number];

/** Cuts on a bus of `bits`; AXI3 allows 16 beats where AXI4 allows 256. */
function cut(address: number, bytes: number, bits: number, maxBeats = 256): Piece[] {
  const cutter = new BurstCutter(bits / 8, maxBeats);
  const pieces: Piece[] = [];
  for (cutter.start(address, bytes); cutter.next();) pieces.push([cutter.address, cutter.beats, cutter.bytes]);
  return pieces;
}

const beatsOf = (pieces: Piece[]): number => pieces.reduce((sum, [, beats]) => sum + beats, 0);

// The worked examples and section numbers are those of ARM IHI 0022 Issue E (AMBA AXI and ACE Protocol Specification).
describe('BurstCutter', () => {
  it('cuts 1000 bytes at 0xFF0 on 64 bits into two AXI4 bursts (A3.4.1)', () => {
    const pieces = cut(0xff0, 1000, 64);
    expect(pieces).toEqual([
      [0xff0, 2, 16],
      [0x1000, 123, 984],
    ]);
    const [last, , carried] = pieces.at(-1)!;
    expect(last + carried - 1).toBe(0x13d7);
    expect(beatsOf(pieces)).toBe(125);
  });

  it('cuts 1000 bytes at 0xFF0 on 64 bits into nine bursts of at most 16 beats, as AXI3 needs (A3.4.1)', () => {
    const pieces = cut(0xff0, 1000, 64, 16);
    expect(pieces).toEqual([
      [0xff0, 2, 16],
      ...[0x1000, 0x1080, 0x1100, 0x1180, 0x1200, 0x1280, 0x1300].map((address): Piece => [address, 16, 128]),
      [0x1380, 11, 88],
    ]);
    expect(beatsOf(pieces)).toBe(125);
  });

  const splits: [start: number, bytes: number, bits: number, pieces: Piece[]][] = [
    [
      0xff3,
      1000,
      64,
      [
        [0xff3, 2, 13],
        [0x1000, 124, 987],
      ],
    ],
    [0x1000, 4096, 128, [[0x1000, 256, 4096]]],
    [
      0x1000,
      4096,
      64,
      [
        [0x1000, 256, 2048],
        [0x1800, 256, 2048],
      ],
    ],
    [0x1000, 4096, 256, [[0x1000, 128, 4096]]],
    [
      0x2f80,
      256,
      128,
      [
        [0x2f80, 8, 128],
        [0x3000, 8, 128],
      ],
    ],
    [
      0x1ffc,
      8,
      32,
      [
        [0x1ffc, 1, 4],
        [0x2000, 1, 4],
      ],
    ],
    [
      0x0,
      5000,
      64,
      [
        [0x0, 256, 2048],
        [0x800, 256, 2048],
        [0x1000, 113, 904],
      ],
    ],
    [
      0x10,
      2048,
      32,
      [
        [0x10, 256, 1024],
        [0x410, 256, 1024],
      ],
    ],
  ];
  it.each(splits)('cuts at %i, %i bytes on %i bits, as long as it may (A3.4.1)', (start, bytes, bits, pieces) => {
    expect(cut(start, bytes, bits)).toEqual(pieces);
  });

  it('makes the longest burst from a 4 KiB boundary 256 beats or 4096 bytes (A3.4.1)', () => {
    const longest: [bits: number, beats: number, bytes: number][] = [
      [32, 256, 1024],
      [64, 256, 2048],
      [128, 256, 4096],
      [256, 128, 4096],
      [512, 64, 4096],
      [1024, 32, 4096],
    ];
    for (const [bits, beats, bytes] of longest) expect(cut(0x4000, 8192, bits)[0]).toEqual([0x4000, beats, bytes]);
  });

  it('keeps one beat of 2 bytes at 0xFFE on 32 bits whole: it ends at 0xFFF (A3.4.1)', () => {
    expect(cut(0xffe, 2, 32)).toEqual([[0xffe, 1, 2]]);
  });

  it('cuts 40 beats of 8 bytes at 0x1000 into 16 + 16 + 8 for AXI3 (A4.3)', () => {
    expect(cut(0x1000, 320, 64, 16)).toEqual([
      [0x1000, 16, 128],
      [0x1080, 16, 128],
      [0x1100, 8, 64],
    ]);
  });

  it('needs beats for bytes with an unaligned start: 16 bytes from 0x1 on 32 bits are 5, 13 from 0x7 are 4 (A3.4.3)', () => {
    expect(cut(0x1, 16, 32)).toEqual([[0x1, 5, 16]]);
    expect(cut(0x7, 13, 32)).toEqual([[0x7, 4, 13]]);
  });

  it('counts bursts and beats of the usual requests (A3.4.1)', () => {
    const rows: [bytes: number, start: number, bits: number, maxBeats: number, bursts: number, beats: number][] = [
      [64, 0x40, 32, 256, 1, 16],
      [64, 0x40, 32, 16, 1, 16],
      [64, 0x40, 64, 256, 1, 8],
      [64, 0x40, 64, 16, 1, 8],
      [64, 0x40, 128, 256, 1, 4],
      [64, 0x40, 128, 16, 1, 4],
      [4096, 0x1000, 64, 256, 2, 512],
      [4096, 0x1000, 64, 16, 32, 512],
      [4096, 0x1000, 128, 16, 16, 256],
      [1000, 0xff0, 64, 256, 2, 125],
      [1000, 0xff0, 64, 16, 9, 125],
      [1000, 0xff3, 64, 256, 2, 126],
    ];
    for (const [bytes, start, bits, maxBeats, bursts, beats] of rows) {
      const pieces = cut(start, bytes, bits, maxBeats);
      expect([pieces.length, beatsOf(pieces)]).toEqual([bursts, beats]);
    }
  });

  it('covers any request exactly, in order, with legal bursts, none of which could have been longer', () => {
    const property = fc.property(
      fc.integer({ min: 0, max: 2 ** 24 }),
      fc.integer({ min: 0, max: 4095 }),
      fc.integer({ min: 1, max: 10_000 }),
      fc.integer({ min: 0, max: 7 }),
      fc.integer({ min: 1, max: 256 }),
      (block, offset, bytes, sizeLog, maxBeats) => {
        const size = 2 ** sizeLog;
        const address = block * 4096 + offset;
        expect(faultOf(cut(address, bytes, size * 8, maxBeats), address, bytes, size, maxBeats)).toBeNull();
      },
    );
    fc.assert(property, { seed: 31, numRuns: 500 });
  });

  it('stays where it is when the request is cut up, and takes the next one from the start', () => {
    const cutter = new BurstCutter(8, 16);
    cutter.start(0x100, 8);
    expect([cutter.next(), cutter.next(), cutter.next()]).toEqual([true, false, false]);
    expect([cutter.address, cutter.bytes, cutter.beats]).toEqual([0x100, 8, 1]);
    cutter.start(0x20, 4);
    expect([cutter.next(), cutter.address, cutter.bytes]).toEqual([true, 0x20, 4]);
  });

  it('refuses a width that no bus has and more beats than a burst may have', () => {
    for (const width of [0, 3, 256]) expect(() => new BurstCutter(width, 16)).toThrow(/^width: must be a power of two/);
    for (const beats of [0, 257, 1.5])
      expect(() => new BurstCutter(8, beats)).toThrow(/^burst beats: must be 1 to 256/);
  });
});

/** What is wrong with the pieces of a request, by rules worked out apart from the cutter's arithmetic. */
function faultOf(pieces: Piece[], address: number, bytes: number, size: number, maxBeats: number): string | null {
  let at = address;
  for (const [start, beats, carried] of pieces) {
    if (start !== at || carried < 1) return `gap or empty burst at ${at}`;
    const problem = burstProblem({ type: 'INCR', start, beats, size, bus: size });
    if (problem !== null) return problem;
    if (beats > maxBeats) return `${beats} beats`;
    at += carried;
    if (Math.floor((at - 1) / size) - Math.floor(start / size) + 1 !== beats) return `wrong count of beats at ${start}`;
    const stopped = at === address + bytes || at % 4096 === 0 || (beats === maxBeats && at % size === 0);
    if (!stopped) return `burst at ${start} could be longer`;
  }
  return at === address + bytes ? null : `covered to ${at}`;
}
