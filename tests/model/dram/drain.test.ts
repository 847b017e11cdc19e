import { describe, expect, test } from 'vitest';
import { Command } from '../../../src/model/dram/command.js';
import { ddrSpec, Rig } from './rig.js';
import { clocksOf, commands, DDR3, read, write } from './trace.js';

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
      (entry) => entry[0] > 400 && (entry[1] === Command.read || entry[1] === Command.write),
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

  test('of the writes that come before the next clock, only those before the read count', () => {
    const rig = new Rig(ddrSpec(DDR3));
    rig.at(0, [read(0, 1)]);
    // 0.2 ns apart between two edges: a write of half the bytes, the read, a write of all
    rig.at(99, [{ ...write(0, 1, 7), low: 0, high: 8 }], 200);
    rig.at(99, [{ ...read(0, 1, 7), low: 4, high: 12 }], 400);
    rig.at(99, [write(0, 1, 7)], 600);
    rig.run(400);
    expect(rig.coveredBy).toEqual([]);
    expect(rig.served.slice(1)).toEqual([
      [1, 100],
      [2, 118],
      [3, 127],
    ]);
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
