import { describe, expect, test } from 'vitest';
import { Window } from '../../../src/model/window.js';
import { ddrSpec, Rig } from './rig.js';
import { DDR3, read, write } from './trace.js';

describe('the counters', () => {
  test('count in the window only, bytes beat by beat, waste by beats without a useful byte', () => {
    // reads at 11 and 15: data in [22, 26) and [26, 30), 8 beats of 4 bytes each; the window ends with clock 27
    const rig = new Rig(ddrSpec(DDR3), new Window(24 * 1250, 27 * 1250));
    rig.at(0, [read(0, 1), { ...read(0, 1, 1), low: 0, high: 6 }]);
    rig.run(100);
    const { use } = rig.channel;
    // four beats of the first, two of the second, which hold its six bytes
    expect([use.readBytes, use.beats, use.wastedBeats]).toEqual([4 * 4 + 6, 6, 0]);
    expect(use.busy.totalPs).toBe(3 * 1250);
    expect([use.columnAccesses, use.rowHits, use.activates]).toEqual([0, 0, 0]);
    const all = new Rig(ddrSpec(DDR3));
    all.at(0, [read(0, 1), { ...read(0, 1, 1), low: 0, high: 6 }]);
    all.run(100);
    expect([all.channel.use.readBytes, all.channel.use.wastedBeats, all.channel.use.wastedShare]).toEqual([
      38,
      6,
      6 / 16,
    ]);
  });

  test('turnaround is the idle time of the bus that the change of direction costs', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [read(0, 1)]);
    rig.at(100, [read(0, 1, 1)]);
    rig.at(101, [write(0, 1, 2)]);
    rig.at(102, [read(0, 1, 3)]);
    rig.run(500);
    // section 5 of the worked examples: 2 idle data clocks from read to write, nWTR 6 + RL 11 = 17 from write to read
    expect(rig.channel.use.turnaroundPs).toBe((2 + 17) * 1250);
  });

  test('tell hits, empties and conflicts by the first command chosen for the access itself', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [read(0, 1), read(0, 1, 1), read(0, 2), read(0, 2, 1)]);
    rig.run(300);
    const { rowHits, rowEmpties, rowConflicts, activates, precharges } = rig.channel.use;
    expect([rowHits, rowEmpties, rowConflicts, activates, precharges]).toEqual([2, 1, 1, 2, 1]);
  });
});
