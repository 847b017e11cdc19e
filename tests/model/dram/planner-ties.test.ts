import { describe, expect, test } from 'vitest';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec, Rig } from './rig.js';
import { commands, DDR3, read } from './trace.js';

describe('of two commands for no access that are legal in one clock', () => {
  test('the refresh of the lower rank goes first', () => {
    const spec = ddrSpec(DDR3, { ranks: 2, refresh: { mode: 'all_bank', postpone: 0 } });
    const rig = new Rig(spec, undefined, [125_000, 125_000]);
    rig.run(200);
    expect(commands(rig)).toEqual(['100 refresh 0', '101 refresh 1/0']);
  });

  test('the time-out of the lower bank goes first', () => {
    const rig = new Rig(ddrSpec(DDR3, { page: { policy: 'timeout', idlePs: 1 } }));
    rig.at(0, [read(0, 1), read(1, 1)]);
    rig.at(28, [read(0, 1, 1)]);
    rig.run(100);
    // RTP 6 after the read at 28, and RAS 28 after the activate at 6
    expect(commands(rig).slice(-3)).toEqual(['28 read 0', '34 precharge 0', '35 precharge 1']);
  });
});

test('a row that times out while its rank waits for a refresh is closed with the others', () => {
  const spec = ddrSpec(DDR3, {
    page: { policy: 'timeout', idlePs: 50_000 },
    refresh: { mode: 'all_bank', postpone: 0 },
  });
  const rig = new Rig(spec, undefined, [125_000]);
  // bank 1 is idle till 105; bank 0 may close at 95 + RAS 28
  rig.at(54, [read(1, 1)]);
  rig.at(95, [read(0, 1)]);
  rig.run(360);
  // RP 11, RFC 208, RCD 11
  expect(commands(rig)).toEqual([
    '54 activate 1',
    '65 read 1',
    '95 activate 0',
    '123 prechargeAll 0',
    '134 refresh 0',
    '342 activate 0',
    '353 read 0',
  ]);
});

test('row 0 is a row as any other', () => {
  const LPDDR4 = timingOfGrade('LPDDR4-3200-x16ch');
  const run = (row: number, change: Partial<DdrSpec>): string[] => {
    const rig = new Rig(ddrSpec(LPDDR4, change), undefined, [300_000]);
    rig.at(0, [read(0, row), read(0, row + 1), read(1, row)]);
    rig.at(200, [read(0, row, 2)]);
    rig.run(1200);
    return commands(rig);
  };
  for (const [change, kind] of [
    [{ page: { policy: 'timeout', idlePs: 50_000 } }, 'precharge 1'],
    [{ page: { policy: 'closed', idlePs: 0 } }, 'readAuto 0'],
    [{ refresh: { mode: 'per_bank', postpone: 0 } }, 'refreshBank 0'],
    [{ refresh: { mode: 'all_bank', postpone: 0 } }, 'prechargeAll 0'],
    [{ scheduler: 'in_order' }, 'activate 1'],
  ] as [Partial<DdrSpec>, string][]) {
    const seen = run(0, change);
    expect(seen).toEqual(run(5, change));
    expect(seen.some((line) => line.includes(kind))).toBe(true);
  }
});

describe('in order, with activates first', () => {
  const IN_ORDER: Partial<DdrSpec> = { scheduler: 'in_order', activateFirst: true };

  test.each([
    // past the cap from the first clock at which it is older than that: 11, and 12
    [12_500, ['0 activate 0', '11 read 0', '12 activate 1', '23 read 1']],
    [13_750, ['0 activate 0', '11 activate 1', '12 read 0', '22 read 1']],
  ])('the head goes before an activate if it is older than the cap of %i ps', (capPs, expected) => {
    const rig = new Rig(ddrSpec(DDR3, { ...IN_ORDER, capPs }));
    rig.at(0, [read(0, 1)]);
    rig.at(11, [read(1, 1)]);
    rig.run(100);
    expect(commands(rig)).toEqual(expected);
  });

  test('an access behind the head that is past the cap gives way to a more urgent one', () => {
    const rig = new Rig(ddrSpec(DDR3, { ...IN_ORDER, capPs: 5_000 }));
    rig.at(0, [read(0, 1), read(1, 1)]);
    rig.at(5, [{ ...read(2, 1), qos: 5 }]);
    rig.run(100);
    // RRD 6; the second is past the cap from 5 on, the third from 10 on
    expect(commands(rig)).toEqual([
      '0 activate 0',
      '6 activate 2',
      '11 read 0',
      '12 activate 1',
      '23 read 1',
      '27 read 2',
    ]);
  });
});
