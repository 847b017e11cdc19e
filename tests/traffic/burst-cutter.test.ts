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

// Worked examples of cuts are checked on simulated masters: see ../validation/bus.
describe('BurstCutter', () => {
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
