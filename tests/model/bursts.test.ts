import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Bursts, Pending, WRITE } from '../../src/model/bursts.js';
import { unclocked } from '../../src/engine/clock.js';
import type { Hop, Route } from '../../src/model/route.js';

const PICOSECONDS = unclocked();

/** A route that only says how wide the beats are at each hop. */
const route = (...beatBytes: number[]): Route =>
  ({ hops: beatBytes.map((size) => ({ beatBytes: size }) as unknown as Hop) }) as unknown as Route;

function burst(address: number, bytes: number, ...beatBytes: number[]) {
  const bursts = new Bursts(beatBytes.length, 128);
  const slot = bursts.allocate(route(...beatBytes));
  bursts.address[slot] = address;
  bursts.bytes[slot] = bytes;
  bursts.clearBeats(slot);
  const beats = (hop: number): number[] => {
    const base = bursts.beatBase(slot, hop);
    return Array.from(bursts.beats.subarray(base, base + bursts.beatCount(slot, hop)));
  };
  return { bursts, slot, beats };
}

describe('beats of a burst', () => {
  it('are counted from aligned addresses', () => {
    // bytes 6 to 13: of 4 bytes 4-7, 8-11, 12-15; of 8 bytes 0-7, 8-15; of 16 bytes one
    const { bursts, slot } = burst(6, 8, 4, 8, 16);
    expect([0, 1, 2].map((hop) => bursts.beatCount(slot, hop))).toEqual([3, 2, 1]);
  });

  it('pass narrow to wide when the last byte of the wide beat is in', () => {
    const { bursts, slot, beats } = burst(6, 8, 4, 8);
    bursts.passBeat(slot, 0, 1, 0, PICOSECONDS, 100);
    expect(beats(1)).toEqual([100, Infinity]);
    bursts.passBeat(slot, 0, 1, 1, PICOSECONDS, 200);
    expect(beats(1)).toEqual([100, Infinity]);
    // bytes 12 and 13 end the burst, and with it the second wide beat
    bursts.passBeat(slot, 0, 1, 2, PICOSECONDS, 300);
    expect(beats(1)).toEqual([100, 300]);
  });

  it('pass wide to narrow all at once, those outside the burst left out', () => {
    const { bursts, slot, beats } = burst(6, 8, 16, 4);
    bursts.passBeat(slot, 0, 1, 0, PICOSECONDS, 500);
    expect(beats(1)).toEqual([500, 500, 500]);
  });

  it('are all there in the end, each no earlier than the bytes in it, whatever the widths', () => {
    const width = fc.constantFrom(1, 2, 4, 8, 16, 32);
    fc.assert(
      fc.property(fc.nat(100), fc.integer({ min: 1, max: 100 }), width, width, (address, bytes, from, to) => {
        const { bursts, slot, beats } = burst(address, bytes, from, to);
        const count = bursts.beatCount(slot, 0);
        for (let beat = 0; beat < count; beat++) bursts.passBeat(slot, 0, 1, beat, PICOSECONDS, 1000 + beat);
        const origin = Math.floor(address / to);
        const expected = beats(1).map((_, k) => {
          const lastByte = Math.min((origin + k + 1) * to, address + bytes) - 1;
          return 1000 + Math.floor(lastByte / from) - Math.floor(address / from);
        });
        expect(beats(1)).toEqual(expected);
      }),
      { seed: 41, numRuns: 500 },
    );
  });
});

describe('a slot', () => {
  it('of a write is free once it is answered and has left the way forward, whichever comes first', () => {
    for (const order of [
      [Pending.response, Pending.forward],
      [Pending.forward, Pending.response],
    ]) {
      const bursts = new Bursts(1, 4);
      const slot = bursts.allocate(route(4));
      bursts.op[slot] = WRITE;
      bursts.bytes[slot] = 4;
      bursts.clearBeats(slot);
      expect(order.map((what) => bursts.settle(slot, what))).toEqual([false, true]);
      expect(bursts.inFlight).toBe(0);
    }
  });

  it('keeps its record while others are added, and is not given twice', () => {
    const bursts = new Bursts(2, 4);
    const slots = Array.from({ length: 500 }, (_, i) => {
      const slot = bursts.allocate(route(4, 4));
      bursts.address[slot] = i;
      bursts.bytes[slot] = 8;
      bursts.clearBeats(slot);
      bursts.beats[bursts.beatBase(slot, 1)] = i;
      return slot;
    });
    expect(new Set(slots).size).toBe(500);
    expect(slots.map((slot) => bursts.address[slot])).toEqual([...slots.keys()]);
    expect(slots.map((slot) => bursts.beats[bursts.beatBase(slot, 1)])).toEqual([...slots.keys()]);
  });

  it('knows nothing of the burst that had it before', () => {
    const { bursts, slot } = burst(0, 8, 4, 4);
    bursts.grantedAt[slot * 2] = 5;
    bursts.enteredAt[slot] = 6;
    bursts.orderBefore[slot] = 7;
    bursts.settle(slot, Pending.response);
    const again = bursts.allocate(route(4, 4));
    bursts.bytes[again] = 8;
    bursts.clearBeats(again);
    expect(again).toBe(slot);
    expect([bursts.grantedAt[slot * 2], bursts.enteredAt[slot], bursts.orderBefore[slot]]).toEqual([
      Infinity,
      Infinity,
      -1,
    ]);
  });
});
