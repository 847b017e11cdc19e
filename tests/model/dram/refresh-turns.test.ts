import { describe, expect, test } from 'vitest';
import { Command } from '../../../src/model/dram/command.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec, Rig } from './rig.js';
import { commands, DDR3, read } from './trace.js';

describe('two ranks, all-bank refresh', () => {
  const TWO: Partial<DdrSpec> = { ranks: 2, refresh: { mode: 'all_bank', postpone: 0 } };

  test('each has its own phase, and one goes on while the other is refreshed', () => {
    // due at clocks 800 and 1600; tRFC 208, tRPab 11, RCD 11
    const rig = new Rig(ddrSpec(DDR3, TWO), undefined, [1_000_000, 2_000_000]);
    rig.at(805, [read(0, 1), read(8, 1)]);
    rig.run(2000);
    expect(commands(rig)).toEqual([
      '800 refresh 0',
      '805 activate 1/0',
      '816 read 1/0',
      '1008 activate 0',
      '1019 read 0',
      '1600 prechargeAll 1/0',
      '1611 refresh 1/0',
    ]);
    expect(rig.channel.use).toMatchObject({ refreshes: 2, refreshPs: (208 + 219) * 1250, precharges: 1 });
  });

  test('one that owes nothing yet is refreshed when it is due though the other is late', () => {
    const rig = new Rig(ddrSpec(DDR3, { ...TWO, refresh: { mode: 'all_bank', postpone: 1 } }), undefined, [0, 2_500]);
    let column = 0;
    rig.at(1, [read(0, 1)]);
    rig.run(300);
    // rank 0 is kept busy: it puts one off, and has its next two after the second is due, at 2 × 6240
    rig.source = (isWrite) => (isWrite ? null : read(0, 1, column++ % 128));
    rig.run(3 * 6240);
    const at = (rank: number) =>
      rig.probe.log.filter(([, kind, r]) => kind === Command.refresh && r === rank).map(([clock]) => clock);
    expect(at(1)).toEqual([2, 6242, 12_482]);
    const [first, second, third] = at(0);
    expect(first).toBe(0);
    expect(second).toBeGreaterThan(2 * 6240);
    expect(second).toBeLessThan(2 * 6240 + 100);
    expect(third).toBe(second! + 208);
  });
});

describe('per-bank refresh of LPDDR4-3200', () => {
  const timing = timingOfGrade('LPDDR4-3200-x16ch');
  const perBank = (postpone: number): DdrSpec => ddrSpec(timing, { refresh: { mode: 'per_bank', postpone } });
  const refreshed = (rig: Rig): [clock: number, bank: number][] =>
    rig.probe.log.filter(([, kind]) => kind === Command.refreshBank).map(([clock, , , bank]) => [clock, bank]);
  // 3904 ns / 8 = 488 ns are 780.8 clocks
  const due = (number: number): number => Math.ceil(780.8 * number);

  test('an idle channel refreshes bank after bank when it is due, round after round', () => {
    const rig = new Rig(perBank(0), undefined, [0]);
    rig.run(due(19) - 1);
    expect(refreshed(rig)).toEqual(Array.from({ length: 19 }, (_, k) => [due(k), k % 8]));
    // a bank is closed for tRFCpb, 90 ns or 144 clocks, each time
    expect(rig.channel.use).toMatchObject({ refreshes: 19, refreshPs: 19 * 90_000, refreshShares: 8 });
  });

  test('a bank with an open row is closed first, and kept for all that time', () => {
    const rig = new Rig(perBank(0), undefined, [0]);
    rig.at(700, [read(2, 1)]);
    rig.run(due(3) - 1);
    // bank 2 is due at 1562; RP 29
    expect(commands(rig)).toEqual([
      '0 refreshBank 0',
      '700 activate 2',
      '729 read 2',
      '781 refreshBank 1',
      '1562 precharge 2',
      '1591 refreshBank 2',
    ]);
    expect(rig.channel.use.refreshPs).toBe((144 + 144 + 29 + 144) * 625);
  });

  test('a busy bank puts its turn off by as many rounds as may be, and the others wait behind it', () => {
    const rig = new Rig(perBank(1), undefined, [0]);
    let column = 0;
    rig.source = (isWrite) => (isWrite ? null : read(3, 1, column++ % 32));
    rig.run(due(12) - 1);
    const all = refreshed(rig);
    expect(all.map(([, bank]) => bank)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 0, 1, 2].slice(0, all.length));
    expect(all.slice(0, 3).map(([clock]) => clock)).toEqual([due(0), due(1), due(2)]);
    // its turn came with number 3; a round is 8, so that number 11 is one too many
    const [late] = all[3]!;
    expect(late).toBeGreaterThan(due(11));
    expect(late).toBeLessThan(due(11) + 150);
    // the others, idle, are made up for at once, tRFCpb apart or a little more where an activate comes between
    const gaps = all.slice(4).map(([clock], k) => clock - all[k + 3]![0]);
    expect(gaps.length).toBeGreaterThan(2);
    for (const gap of gaps) expect(gap >= 144 && gap < 200).toBe(true);
  });
});
