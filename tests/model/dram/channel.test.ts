import { describe, expect, test } from 'vitest';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec, Rig, type Wanted } from './rig.js';
import { commands, DDR3, DDR4, read, trace, write } from './trace.js';

describe('each timing rule, by hand', () => {
  test('tRCD and tCCD: reads of one row follow the activate and then each other', () => {
    expect(trace(DDR3, [read(0, 1), read(0, 1, 1)])).toEqual(['0 activate 0', '11 read 0', '15 read 0']);
  });

  test('tRAS, tRP and tRC: a conflict closes at 28 and reopens at 39', () => {
    expect(trace(DDR3, [read(0, 1), read(0, 2)])).toEqual([
      '0 activate 0',
      '11 read 0',
      '28 precharge 0',
      '39 activate 0',
      '50 read 0',
    ]);
  });

  test('tRTP: a late read puts the precharge off', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [read(0, 1)]);
    rig.at(26, [read(0, 1, 1)]);
    rig.at(27, [read(0, 2)]);
    rig.run(500);
    // 26 + RTP 6 = 32 is past tRAS 28, and the activate follows tRP later
    expect(commands(rig).slice(2)).toEqual(['26 read 0', '32 precharge 0', '43 activate 0', '54 read 0']);
  });

  test('a row that was closed while the channel slept is opened at once, and the channel is awake for it', () => {
    const rig = new Rig(ddrSpec(DDR3, { page: { policy: 'timeout', idlePs: 50_000 } }));
    rig.at(0, [read(0, 1)]);
    rig.at(300, [read(0, 2)]);
    rig.run(500);
    // the rig fails where it is told of a column command late
    expect(commands(rig).slice(3)).toEqual(['300 activate 0', '311 read 0', '351 precharge 0']);
  });

  test('tWR: a written row closes 24 clocks after the write', () => {
    expect(trace(DDR3, [write(0, 1), write(0, 2)])).toEqual([
      '0 activate 0',
      '11 write 0',
      '35 precharge 0',
      '46 activate 0',
      '57 write 0',
    ]);
  });

  test('auto-precharge: LPDDR4 writes recover by the mode register, a clock longer than tWR', () => {
    const lines = trace(timingOfGrade('LPDDR4-3200-x16ch'), [write(0, 1), write(0, 2)], {
      page: { policy: 'closed', idlePs: 0 },
    });
    // 29 + WL 14 + 1 + 8 + nWR 30 + RP 29
    expect(lines).toEqual(['0 activate 0', '29 writeAuto 0', '111 activate 0', '140 writeAuto 0']);
  });

  test('tRRD and tFAW: four activates 6 apart, the fifth 32 after the first', () => {
    const wanted = [0, 1, 2, 3, 4].map((bank) => read(bank, 1));
    const activates = trace(DDR3, wanted).filter((line) => line.includes('activate'));
    // column commands go first, but none is legal at 6 or 12 or 18
    expect(activates).toEqual(['0 activate 0', '6 activate 1', '12 activate 2', '18 activate 3', '32 activate 4']);
  });

  test('bank groups: tRRD_S 7 and tCCD_S 4 across groups, tRRD_L 8 and tCCD_L 6 within one', () => {
    // banks 0 and 1 are of group 0, bank 4 of group 1
    expect(trace(DDR4, [read(0, 1), read(4, 1)])).toEqual(['0 activate 0', '7 activate 4', '16 read 0', '23 read 4']);
    expect(trace(DDR4, [read(0, 1), read(1, 1)]).slice(0, 2)).toEqual(['0 activate 0', '8 activate 1']);
    const hits = trace(DDR4, [read(0, 1), read(0, 1, 1), read(4, 1), read(4, 1, 1)]);
    // 16 in group 0; 22 in group 0 (L); 26 in group 1 (S after 22); 32 in group 1 (L)
    expect(hits.slice(2)).toEqual(['16 read 0', '22 read 0', '26 read 4', '32 read 4']);
  });

  test('write to read: 25 clocks within a bank group, 19 into another', () => {
    const rig = new Rig(ddrSpec(DDR4));
    rig.at(0, [read(0, 1), read(4, 1)]);
    rig.at(100, [write(0, 1, 1)]);
    rig.at(101, [read(4, 1, 1), read(0, 1, 2)]);
    rig.run(500);
    expect(commands(rig).slice(-3)).toEqual(['100 write 0', '119 read 4', '125 read 0']);
  });

  test('ranks: data of another rank keeps the gap, and tRRD does not bind', () => {
    const lines = trace(DDR3, [read(0, 1), read(8, 1)], { ranks: 2 });
    // one command a clock; the second read waits for 4 clocks of data and a gap of 2
    expect(lines).toEqual(['0 activate 0', '1 activate 1/0', '11 read 0', '17 read 1/0']);
  });

  test('ranks: a write into another rank waits for the read data to be off the bus', () => {
    const rig = new Rig(ddrSpec(DDR3, { ranks: 2 }));
    rig.at(0, [read(0, 1), read(8, 1)]);
    rig.at(100, [read(0, 1, 1)]);
    rig.at(101, [write(8, 1, 1)]);
    rig.at(102, [read(0, 1, 2)]);
    rig.run(500);
    // CL 11 + 4 + gap 2 − CWL 8 = 9 on; then CWL 8 + 4 + 2 − CL 11 = 3 back
    expect(commands(rig).slice(-2)).toEqual(['109 write 1/0', '112 read 0']);
  });

  test('a write put off for a refresh goes in time when that is postponed for a read', () => {
    const spec = ddrSpec(timingOfGrade('LPDDR4X-4266-x16ch'), { ranks: 2, refresh: { mode: 'all_bank', postpone: 8 } });
    // rank 1 begins its refresh at clock 2000, 45 clocks after it has closed its row
    for (let entry = 2000; entry < 2012; entry++) {
      const rig = new Rig(spec, undefined, [1e9, 937_500]);
      rig.at(1000, [read(8, 1), read(2, 1)]);
      rig.at(entry, [write(5, 1)]);
      // wakes the channel, which then plans the write of bank 5 behind the refresh
      rig.at(2012, [write(2, 1)]);
      rig.at(2025, [read(8, 2)]);
      // the rig fails where it is told of a column command late
      rig.run(2500);
      expect(rig.served).toHaveLength(5);
    }
  });

  test('an access to a bank whose refresh may wait puts it off in the clock in which it comes', () => {
    const timing = timingOfGrade('LPDDR2-800-S4-4Gb-x32');
    const rig = new Rig(ddrSpec(timing, { refresh: { mode: 'per_bank', postpone: 8 } }));
    // tREFIpb is 195 clocks: bank 0 at 0, bank 1 due at 195, which is idle then and would be closed
    rig.at(183, [write(1, 1)]);
    rig.at(191, [write(2, 1)]);
    rig.at(192, [write(2, 2)]);
    rig.at(198, [write(1, 1, 1)]);
    rig.run(240);
    expect(commands(rig).slice(1, 8)).toEqual([
      '183 activate 1',
      '191 write 1',
      '192 activate 2',
      '198 write 1',
      '202 write 2',
      '212 precharge 1',
      '216 precharge 2',
    ]);
    expect(commands(rig)[8]).toBe('220 refreshBank 1');
  });

  test('LPDDR4: activates and column commands occupy the bus for four clocks', () => {
    const lines = trace(timingOfGrade('LPDDR4-3200-x16ch'), [read(0, 1), read(1, 1)]);
    // RRD 16, RCD 29
    expect(lines).toEqual(['0 activate 0', '16 activate 1', '29 read 0', '45 read 1']);
    const turned = trace({ ...DDR3, activateClocks: 4, columnClocks: 4, nRRD_S: 1, nRRD_L: 1 }, [
      read(0, 1),
      read(1, 1),
    ]);
    expect(turned.slice(0, 2)).toEqual(['0 activate 0', '4 activate 1']);
  });

  test('a command of several clocks does not put off one of a higher class', () => {
    // the read of bank 0 is legal at 11, an activate of four clocks at 8 would last till 12: it waits for the read
    const timing = { ...DDR3, activateClocks: 4, columnClocks: 4, nRRD_S: 8, nRRD_L: 8, nFAW: 8 };
    expect(trace(timing, [read(0, 1), read(1, 1)])).toEqual([
      '0 activate 0',
      '11 read 0',
      '15 activate 1',
      '26 read 1',
    ]);
  });
});

test('the order in which accesses of one instant are entered changes nothing', () => {
  const wanted = Array.from({ length: 12 }, (_, i): Wanted => ({
    ...read((i * 5) % 8, i % 3, i % 4),
    write: i % 3 === 0,
  }));
  const run = (order: readonly number[]): string[] => {
    const rig = new Rig(ddrSpec(DDR3));
    for (const i of order) rig.enter(wanted[i]!, i);
    rig.run(1500);
    return [...commands(rig), ...rig.served.map(String), ...rig.coveredBy.map(String).toSorted()];
  };
  const straight = wanted.map((_, i) => i);
  const expected = run(straight);
  for (const step of [5, 7, 11]) expect(run(straight.map((i) => (i * step + 3) % 12))).toEqual(expected);
});
