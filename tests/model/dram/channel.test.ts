import { describe, expect, test } from 'vitest';
import { Command } from '../../../src/model/dram/command.js';
import { refreshPhases } from '../../../src/model/dram/refresh-phase.js';
import { Window } from '../../../src/model/window.js';
import type { DdrSpec, DramTimingSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec, Rig, type Wanted } from './rig.js';

// DDR3-1600K, x16 (JEDEC DDR3 table, grade file): CL 11, CWL 8, RCD 11, RP 11, RAS 28, RC 39, RRD 6, FAW 32, CCD 4,
// RTP 6, WR 12; read to write 9, write to read 18, write to precharge 24; RFC 208, REFI 7.8 µs = 6240 clocks
const DDR3 = timingOfGrade('DDR3-1600K-x16');
// DDR4-2400R, x16: RCD 16, RP 16, RAS 39, RC 55, RRD_S 7, RRD_L 8, FAW 36, CCD 4 / 6, WTR gaps 19 / 25
const DDR4 = timingOfGrade('DDR4-2400R-x16');

const read = (bank: number, row: number, column = 0): Wanted => ({ write: false, bank, row, column });
const write = (bank: number, row: number, column = 0): Wanted => ({ write: true, bank, row, column });

const NAMES = new Map(Object.entries(Command).map(([name, kind]) => [kind as number, name]));

/** What a channel does with accesses that arrive together at clock 0: `clock name bank` of every command. */
function trace(timing: DramTimingSpec, wanted: Wanted[], change: Partial<DdrSpec> = {}): string[] {
  const rig = new Rig(ddrSpec(timing, change));
  rig.at(0, wanted);
  rig.run(2000);
  return commands(rig);
}

function commands(rig: Rig): string[] {
  return rig.probe.log.map(([clock, kind, rank, bank]) => {
    return `${clock} ${NAMES.get(kind)} ${rank > 0 ? `${rank}/` : ''}${bank}`;
  });
}

function clocksOf(rig: Rig, kind: number): number[] {
  return rig.probe.log.filter((entry) => entry[1] === kind).map(([clock]) => clock);
}

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

  test('tWR: a written row closes 24 clocks after the write', () => {
    expect(trace(DDR3, [write(0, 1), write(0, 2)])).toEqual([
      '0 activate 0',
      '11 write 0',
      '35 precharge 0',
      '46 activate 0',
      '57 write 0',
    ]);
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

describe('writes', () => {
  test('a drain starts at the high mark and stops at the low mark', () => {
    const rig = new Rig(ddrSpec(DDR3, { highMark: 6, lowMark: 2 }));
    let column = 0;
    // reads never run dry; five writes change nothing, the sixth starts the drain of four
    rig.source = (isWrite) => (isWrite ? null : read(0, 1, column++ % 128));
    rig.at(
      100,
      [0, 1, 2, 3, 4].map((c) => write(1, 1, c)),
    );
    rig.run(400);
    expect(rig.probe.log.some((entry) => entry[1] === Command.write)).toBe(false);
    rig.at(400, [write(1, 1, 5)]);
    rig.run(1500);
    const kinds = rig.probe.log.filter(
      (entry) => entry[0] > 400 && [Command.read, Command.write].includes(entry[1] as 2),
    );
    expect(kinds.findIndex((entry) => entry[1] === Command.write)).toBeGreaterThanOrEqual(0);
    const writes = clocksOf(rig, Command.write);
    expect(writes).toHaveLength(4);
    expect(writes[3]! - writes[0]!).toBe(12);
  });

  test('an idle drain ends when a read comes, but not before four writes', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [read(0, 1)]);
    rig.at(
      100,
      Array.from({ length: 10 }, (_, c) => write(0, 1, c)),
    );
    rig.at(101, [read(0, 1, 99)]);
    rig.run(600);
    const columns = commands(rig)
      .slice(2)
      .map((line) => line.split(' ').slice(0, 2).join(' '));
    // writes 100 to 112, the read 18 after the last of them, then writes 9 after it and on
    const first = ['100 write', '104 write', '108 write', '112 write', '130 read', '139 write', '143 write'];
    expect(columns.slice(0, 7)).toEqual(first);
    expect(columns).toHaveLength(11);
  });

  test('the cap ends a drain after four writes', () => {
    const rig = new Rig(ddrSpec(DDR3, { highMark: 20, lowMark: 1, capPs: 60_000 }));
    rig.at(0, [read(0, 1)]);
    rig.at(
      100,
      Array.from({ length: 20 }, (_, c) => write(0, 1, c)),
    );
    rig.at(100, [read(0, 1, 99)]);
    rig.run(1000);
    const reads = clocksOf(rig, Command.read);
    // past the cap 49 clocks on, at 149; the writes at 100, 104, … end with the one at 148
    expect(reads).toEqual([11, 148 + 18]);
  });

  test('a read that a queued write covers is answered from the queue', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [write(0, 1, 7), { ...read(0, 1, 7), low: 4, high: 12 }]);
    rig.run(200);
    expect(rig.coveredBy).toEqual([[1, 0]]);
    expect(commands(rig)).toEqual(['0 activate 0', '11 write 0']);
    expect(rig.channel.use.coveredReads).toBe(1);
  });

  test('a read that came before the write is not answered by it', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [read(0, 1, 7)]);
    rig.at(1, [write(0, 1, 7)]);
    rig.run(200);
    expect(rig.coveredBy).toEqual([]);
    expect(commands(rig)).toEqual(['0 activate 0', '11 read 0', '20 write 0']);
  });

  test('a read partly covered waits for that write, which goes before all others', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [read(0, 1)]);
    rig.at(100, [write(0, 1, 1), { ...write(0, 1, 7), low: 0, high: 8 }, { ...read(0, 1, 7), low: 4, high: 12 }]);
    rig.at(100, [read(0, 1, 50)]);
    rig.run(400);
    // number 2 is the write in the way; 3, the read that waited for it, is older than 4
    expect(rig.served.slice(1).map(([number]) => number)).toEqual([2, 3, 4, 1]);
  });
});

describe('refresh', () => {
  const REFRESH: Partial<DdrSpec> = { refresh: { mode: 'all_bank', postpone: 0 } };

  test('falls due at phase + m × tREFI, closes the rank, and lets rows open tRFC later', () => {
    const rig = new Rig(ddrSpec(DDR3, REFRESH), undefined, [1_000_000]);
    rig.at(790, [read(0, 1)]);
    rig.at(805, [read(1, 1)]);
    rig.run(3000);
    // due at clock 800: the read at 801 is not let through any more; tRAS 28 from 790 allows the precharge at 818,
    // tRPab 11 the refresh at 829, tRFC 208 activates from 1037 on
    expect(commands(rig)).toEqual([
      '790 activate 0',
      '818 prechargeAll 0',
      '829 refresh 0',
      '1037 activate 0',
      '1043 activate 1',
      '1048 read 0',
      '1054 read 1',
    ]);
    expect(rig.channel.use.refreshPs).toBe((1037 - 800) * 1250);
  });

  test('is done once per tREFI, whether the channel is busy or idle', () => {
    for (const busy of [true, false]) {
      const rig = new Rig(ddrSpec(DDR3, REFRESH), undefined, [1_000_000]);
      let column = 0;
      if (busy) rig.source = (isWrite) => (isWrite ? null : read(0, 1, column++ % 128));
      rig.run(800 + 50 * 6240 + 3000);
      expect(clocksOf(rig, Command.refresh)).toHaveLength(51);
      expect(rig.channel.use.refreshes).toBe(51);
    }
  });

  test('postponed: as many wait while there is work, then all follow one another', () => {
    const rig = new Rig(ddrSpec(DDR3, { refresh: { mode: 'all_bank', postpone: 3 } }), undefined, [0]);
    let column = 0;
    rig.at(1, [read(0, 1)]);
    rig.run(300);
    rig.source = (isWrite) => (isWrite ? null : read(0, 1, column++ % 128));
    rig.run(10 * 6240);
    const refreshes = clocksOf(rig, Command.refresh);
    // the first while nothing is queued; then due at 1, 2, 3, 4 × 6240, done from the last of these on, tRFC apart
    expect(refreshes[0]).toBe(0);
    expect(refreshes[1]).toBeGreaterThan(4 * 6240);
    expect(refreshes.slice(2, 5).map((clock, i) => clock - refreshes[i + 1]!)).toEqual([208, 208, 208]);
    expect(refreshes[5]).toBeGreaterThan(8 * 6240);
  });

  test('per bank: one bank at a time, in turn, tREFI / banks apart, the others go on', () => {
    const timing = timingOfGrade('LPDDR4-3200-x16ch');
    const rig = new Rig(ddrSpec(timing, { refresh: { mode: 'per_bank', postpone: 0 } }), undefined, [0]);
    let column = 0;
    rig.source = (isWrite) => (isWrite ? null : read(7, 1, column++ % 32));
    rig.run(8 * 781 - 10);
    // NXP's LPDDR4 example: 3904 ns / 8 = 488 ns, 780.8 clocks
    const refreshed = rig.probe.log.filter((entry) => entry[1] === Command.refreshBank);
    expect(refreshed.map((entry) => entry[3])).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    const busy = clocksOf(rig, Command.read);
    const late = busy
      .slice(1)
      .map((clock, i) => clock - busy[i]!)
      .filter((gap) => gap > 12);
    // only the refresh of bank 7 itself interrupts the stream
    expect(late).toHaveLength(1);
  });

  test('the phase is drawn per seed, replication, memory and rank, and is uniform over tREFI', () => {
    const draw = (seed: string, replication = 0, memory = 'ddr'): number[] =>
      refreshPhases(seed, replication, memory, 2, 7_800_000);
    expect(draw('a')).toEqual(draw('a'));
    const different = new Set([...draw('a'), ...draw('b'), ...draw('a', 1), ...draw('a', 0, 'other')]);
    expect(different.size).toBe(8);
    const many = Array.from({ length: 2000 }, (_, i) => refreshPhases(`s${i}`, 0, 'ddr', 1, 7_800_000)[0]!);
    const mean = many.reduce((sum, phase) => sum + phase, 0) / many.length / 7_800_000;
    // four standard errors of a uniform mean
    expect(Math.abs(mean - 0.5)).toBeLessThan(4 * Math.sqrt(1 / 12 / 2000));
    expect(Math.min(...many)).toBeGreaterThanOrEqual(0);
    expect(Math.max(...many)).toBeLessThan(7_800_000);
  });
});

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
