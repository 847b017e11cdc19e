import { expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { DramUse } from '../../../src/model/dram/dram-use.js';
import { Window } from '../../../src/model/window.js';

/** Counters of the clocks 10 to 19, of 100 ps each; an access is eight beats of four bytes, on the bus for four clocks. */
const make = (): DramUse => new DramUse(new Window(1000, 2000), new Clock('dram', 100, 1), 4, 8, 2);

test('a clock is inside from the first on to the one before the end', () => {
  const use = make();
  expect([9, 10, 19, 20].map((clock) => use.inWindow(clock))).toEqual([false, true, true, false]);
});

test.each<[string, start: number, low: number, high: number, bytes: number, beats: number, wasted: number]>([
  ['wholly inside: beats 1 to 4 hold its bytes', 12, 6, 20, 14, 8, 4],
  ['that begins with the window', 10, 0, 32, 32, 8, 0],
  ['that ends with the window', 16, 0, 4, 4, 8, 7],
  ['of which beats 4 to 7 are inside, and bytes 16 to 19 of use', 8, 0, 20, 4, 4, 3],
  ['of which beats 0 to 3 are inside, and bytes 6 to 15 of use', 18, 6, 32, 10, 4, 1],
  ['of which one beat is inside, from the middle of clock 19 on not', 19, 3, 5, 2, 2, 0],
  ['that is over when the window begins', 6, 0, 32, 0, 0, 0],
  ['that begins when the window is over', 20, 0, 32, 0, 0, 0],
])('data %s', (_, start, low, high, bytes, beats, wasted) => {
  for (const write of [false, true]) {
    const use = make();
    use.data(start, write, low, high);
    expect(use).toMatchObject({ beats, wastedBeats: wasted, [write ? 'writeBytes' : 'readBytes']: bytes });
    expect(use[write ? 'readBytes' : 'writeBytes']).toBe(0);
    expect(use.busy.totalPs).toBe(50 * beats);
    expect(use.wastedShare).toBe(beats === 0 ? 0 : wasted / beats);
  }
});

test('sums up over accesses', () => {
  const use = make();
  use.data(12, false, 6, 20);
  use.data(8, false, 0, 20);
  use.data(16, true, 0, 4);
  expect(use).toMatchObject({ readBytes: 18, writeBytes: 4, beats: 20, wastedBeats: 14 });
});

test('turns and refreshes count as far as they lie inside, and not at all where they last no time', () => {
  const use = make();
  use.turnaround(12, 4);
  use.turnaround(15, 0);
  use.turnaround(15, -3);
  use.refreshed(5, 12);
  use.refreshed(15, 15);
  use.refreshed(15, 13);
  expect([use.turnaroundPs, use.turnaroundShare]).toEqual([200, 0.2]);
  // two ranks
  expect([use.refreshPs, use.refreshShare]).toEqual([200, 0.1]);
});

test('a window without end holds all clocks from its start on', () => {
  const use = new DramUse(new Window(0, Infinity), new Clock('dram', 100, 1), 4, 8, 1);
  expect([use.inWindow(0), use.inWindow(1e12)]).toEqual([true, true]);
});
