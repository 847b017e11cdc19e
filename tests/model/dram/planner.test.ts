import { describe, expect, test } from 'vitest';
import { Command } from '../../../src/model/dram/command.js';
import { ddrSpec, Rig } from './rig.js';
import { clocksOf, commands, DDR3, DDR4, read, trace } from './trace.js';

describe('the order of choice', () => {
  test('column commands go before activates, and after them with activate_first', () => {
    const at11 = (activateFirst: boolean): string[] => {
      const rig = new Rig(ddrSpec(DDR3, { activateFirst }));
      rig.at(0, [read(0, 1)]);
      rig.at(11, [read(1, 1)]);
      rig.run(200);
      return commands(rig).slice(1, 3);
    };
    expect(at11(false)).toEqual(['11 read 0', '12 activate 1']);
    expect(at11(true)).toEqual(['11 activate 1', '12 read 0']);
  });

  test('within a class the more urgent goes first, then the older', () => {
    const lines = trace(DDR3, [read(0, 1), { ...read(1, 1), qos: 2 }, read(2, 1), { ...read(3, 1), qos: 2 }]);
    const activates = lines.filter((line) => line.includes('activate')).map((line) => line.split(' ')[2]);
    expect(activates).toEqual(['1', '3', '0', '2']);
  });

  test('a row with queued hits stays open for them, until the oldest is past the cap', () => {
    const first = (capPs: number): number => {
      const rig = new Rig(ddrSpec(DDR3, { capPs }));
      // one conflict, then a hit every 4 clocks for 400 clocks
      rig.at(0, [read(0, 1)]);
      rig.at(12, [read(0, 2)]);
      for (let clock = 12; clock < 400; clock += 4) rig.at(clock, [read(0, 1, clock)]);
      rig.run(1000);
      return clocksOf(rig, Command.precharge)[0]!;
    };
    // 100 clocks after its entry at 12 it is past the cap from 113 on; the read at 111 lets it close at 117
    expect(first(125_000)).toBe(117);
    expect(first(Infinity)).toBeGreaterThan(400);
  });

  test('in order: the second activate runs ahead, its read does not', () => {
    const rig = new Rig(ddrSpec(DDR3, { scheduler: 'in_order' }));
    rig.at(0, [read(1, 5)]);
    rig.at(100, [read(0, 1), read(1, 5, 1), read(0, 2)]);
    rig.run(500);
    // the hit in bank 1 waits for bank 0's row; row 2 does not close row 1 before it is read
    expect(commands(rig).slice(2)).toEqual([
      '100 activate 0',
      '111 read 0',
      '115 read 1',
      '128 precharge 0',
      '139 activate 0',
      '150 read 0',
    ]);
  });

  test('in order: what lies beyond the lookahead is left alone', () => {
    const lines = trace(DDR3, [read(0, 1), read(0, 1, 1), read(1, 1)], { scheduler: 'in_order', lookahead: 1 });
    expect(lines).toEqual(['0 activate 0', '11 read 0', '12 activate 1', '15 read 0', '23 read 1']);
  });
});

describe('pages', () => {
  test('closed: the last queued access to a row takes it along, by auto-precharge after tRTP and tRAS', () => {
    const rig = new Rig(ddrSpec(DDR3, { page: { policy: 'closed', idlePs: 0 } }));
    rig.at(0, [read(0, 1), read(0, 1, 1)]);
    rig.at(20, [read(0, 1, 2)]);
    rig.run(300);
    // inside the device it closes at 28 (tRAS), so that the activate may come at 39
    expect(commands(rig)).toEqual(['0 activate 0', '11 read 0', '15 readAuto 0', '39 activate 0', '50 readAuto 0']);
  });

  test('auto-precharge: READ with it at T1, the activate tRTP + tRP later (Micron 4Gb DDR4 Rev G, figure 152)', () => {
    const timing = { ...DDR4, nRTP: 6, nReadToPrecharge: 6, nRP: 11, nRAS: 1, nRC: 12, nRCD: 1 };
    const rig = new Rig(ddrSpec(timing, { page: { policy: 'closed', idlePs: 0 } }));
    rig.at(0, [read(0, 1)]);
    rig.at(2, [read(0, 2)]);
    rig.run(100);
    expect(commands(rig).slice(0, 3)).toEqual(['0 activate 0', '1 readAuto 0', '18 activate 0']);
  });

  test('time-out: the row closes `idle` after its last column command', () => {
    const rig = new Rig(ddrSpec(DDR3, { page: { policy: 'timeout', idlePs: 50_000 } }));
    rig.at(0, [read(0, 1)]);
    rig.at(40, [read(0, 1, 1)]);
    rig.at(200, [read(0, 1, 2)]);
    rig.run(400);
    // 50 ns are 40 clocks; at 40 the read comes before the time-out at 51
    expect(commands(rig).slice(1)).toEqual([
      '11 read 0',
      '40 read 0',
      '80 precharge 0',
      '200 activate 0',
      '211 read 0',
      '251 precharge 0',
    ]);
  });
});
