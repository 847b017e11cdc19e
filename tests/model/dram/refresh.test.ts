import { describe, expect, test } from 'vitest';
import { Command } from '../../../src/model/dram/command.js';
import { refreshPhases } from '../../../src/model/dram/refresh-phase.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec, Rig } from './rig.js';
import { clocksOf, commands, DDR3, read } from './trace.js';

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

  test('with all postponed that the standards allow, the rows are closed in time for the ninth', () => {
    const rig = new Rig(ddrSpec(DDR3, { refresh: { mode: 'all_bank', postpone: 8 } }), undefined, [0]);
    let column = 0;
    rig.at(1, [read(0, 1)]);
    rig.run(300);
    rig.source = (isWrite) => (isWrite ? null : read(0, 1, column++ % 128));
    rig.run(10 * 6240);
    const refreshes = clocksOf(rig, Command.refresh);
    expect(refreshes[0]).toBe(0);
    // the duty begins max(RAS 28, RTP 6, write 24) + one command, one rank + RPab 11 = 41 clocks ahead of 9 × 6240, at
    // 56119; a read in the clock before that puts the precharge off to 56124, and the refresh to 56135
    expect(refreshes[1]).toBeGreaterThanOrEqual(56_119 + 11);
    expect(refreshes[1]).toBeLessThanOrEqual(56_135);
    // eight were owed; the ninth falls due while they are done
    expect(refreshes.slice(2, 10).map((clock, i) => clock - refreshes[i + 1]!)).toEqual(Array(8).fill(208));
  });

  test('LPDDR2: eight follow one another, the ninth comes 32 tRFC after the first', () => {
    const timing = timingOfGrade('LPDDR2-800-S4-1Gb-x32');
    const rig = new Rig(ddrSpec(timing, { refresh: { mode: 'all_bank', postpone: 8 } }), undefined, [0]);
    let column = 0;
    rig.at(1, [read(0, 1)]);
    rig.run(100);
    rig.source = (isWrite) => (isWrite ? null : read(0, 1, column++ % 64));
    rig.run(10 * 3120 + 5000);
    // 130 ns are 52 clocks (Micron 2Gb LPDDR2-S4 Rev N p.77: four tRFC apart, over a window of eight)
    const [, first, ...more] = clocksOf(rig, Command.refresh);
    expect(more.slice(0, 8).map((clock) => clock - first!)).toEqual([52, 104, 156, 208, 260, 312, 364, 1664]);
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
