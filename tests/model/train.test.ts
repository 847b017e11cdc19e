import { describe, expect, it } from 'vitest';
import { Clock } from '../../src/engine/clock.js';
import { crossed, firstAt, inBeats, lastAt, sent, whole } from '../../src/model/train.js';

const clock = new Clock('bus', 1000, 1);
const beat = (low: number, high: number, atPs: number) => ({ low, high, atPs });

describe('a train of data', () => {
  it('is cut at aligned addresses', () => {
    expect(inBeats(whole(6, 8, 50), 4)).toEqual([beat(6, 8, 50), beat(8, 12, 50), beat(12, 14, 50)]);
  });

  it('is packed into a wide beat when its last byte is there', () => {
    const narrow = [beat(6, 8, 50), beat(8, 12, 60), beat(12, 14, 70)];
    expect(inBeats(narrow, 8)).toEqual([beat(6, 8, 50), beat(8, 14, 70)]);
  });

  it('is sent a beat a cycle from an edge on, none before it is there', () => {
    const beats = [beat(0, 4, 0), beat(4, 8, 0), beat(8, 12, 4500), beat(12, 16, 4500)];
    // edges 2 3 5 6, two cycles under way
    expect(sent(beats, clock, 2, 2).map((one) => one.atPs)).toEqual([4000, 5000, 7000, 8000]);
  });

  it('crosses into another clock piece by piece', () => {
    // first edges at or after 1500 and 2000 are both edge 2, and two more cycles of synchroniser
    const pieces = [beat(0, 4, 1500), beat(4, 8, 2000), beat(8, 12, 2001)];
    const there = crossed(pieces, new Clock('fine', 1, 1), clock, 2);
    expect(there.map((one) => one.atPs)).toEqual([4000, 4000, 5000]);
    expect([firstAt(there), lastAt(there)]).toEqual([4000, 5000]);
  });

  it('stays as it is where the clock does', () => {
    const pieces = [beat(0, 4, 2000), beat(4, 8, 3000)];
    expect(crossed(pieces, new Clock(clock.name, 1000, 1), clock, 2)).toEqual(pieces);
  });
});
