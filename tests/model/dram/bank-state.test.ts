import { describe, expect, test } from 'vitest';
import { BankState } from '../../../src/model/dram/bank-state.js';
import { LONG_AGO } from '../../../src/model/dram/bank.js';
import type { DramTimingSpec } from '../../../src/scenario/scenario.js';
import { ddrSpec, Rig } from './rig.js';
import { commands, DDR3, DDR4, read, trace, write } from './trace.js';

// DDR3: CL 11, CWL 8, a burst of 4 clocks, CCD 4, read to write 9, write to read 18, rank gap 2: on the bus, a write may
// follow a read by 11 + 4 − 8 = 7 and a read a write by 8 + 4 − 11 = 1
describe('the least time between two column commands', () => {
  test.each<[string, Partial<DramTimingSpec>, number, number]>([
    ['tCCD', {}, 1, 4],
    ['a longer tCCD', { nCCD_S: 8 }, 1, 8],
    ['a longer burst', { burstLength: 16 }, 1, 8],
    ['read to write', { nCCD_S: 12 }, 1, 9],
    ['read to write, by the bus', { nCCD_S: 12, nReadToWrite: 5 }, 1, 7],
    ['write to read', { nCCD_S: 12, nWriteToRead_S: 6 }, 1, 6],
    ['the other rank: gap 2 and 1', { nCCD_S: 12 }, 2, 3],
    ['the other rank, where the burst is the least', { nCCD_S: 12, nCL: 8, burstLength: 4 }, 2, 4],
  ])('is that of %s', (_, change, ranks, expected) => {
    expect(new BankState({ ...DDR3, ...change }, ranks).spacing).toBe(expected);
  });
});

test('data begins CL and the strobe delay after a read, CWL after a write, with LPDDR one clock later', () => {
  const delays = (change: Partial<DramTimingSpec>): number[] => {
    const { readDelay, writeDelay } = new BankState({ ...DDR3, ...change }, 1);
    return [readDelay, writeDelay];
  };
  expect(delays({})).toEqual([11, 8]);
  expect(delays({ nDQSCK: 3 })).toEqual([14, 8]);
  expect(delays({ standard: 'LPDDR4' })).toEqual([11, 9]);
});

test('tRC holds where it is longer than tRAS and tRP together', () => {
  expect(trace({ ...DDR3, nRC: 50 }, [read(0, 1), read(0, 2)]).slice(2, 4)).toEqual([
    '28 precharge 0',
    '50 activate 0',
  ]);
});

test.each([
  ['tCCD_S', { nCCD_S: 5 }, 5],
  ['the burst', { nCCD_S: 2 }, 4],
])('column commands into two bank groups are %s apart', (_, change, apart) => {
  for (const access of [read, write]) {
    const rig = new Rig(ddrSpec({ ...DDR4, ...change }));
    rig.at(0, [read(0, 1), read(4, 1)]);
    rig.at(200, [access(0, 1, 1), access(4, 1, 1)]);
    rig.run(400);
    const kind = access === read ? 'read' : 'write';
    expect(commands(rig).slice(-2)).toEqual([`200 ${kind} 0`, `${200 + apart} ${kind} 4`]);
  }
});

describe('timers, rank by rank', () => {
  test('what one rank does leaves the rows of the other as they are', () => {
    const state = new BankState(DDR3, 2);
    const [a, b] = [state.banks[1]!, state.banks[9]!];
    state.activate(a, 5, 100);
    state.activate(b, 6, 200);
    expect([...state.openCount]).toEqual([1, 1]);
    // RAS 28
    expect([state.prechargeAllFrom(0), state.prechargeAllFrom(1)]).toEqual([128, 228]);
    state.prechargeAll(0, 300);
    expect([a.openRow, b.openRow, ...state.openCount]).toEqual([-1, 6, 0, 1]);
    // RP 11, and all banks of the rank count
    expect([state.refreshFrom(0), state.activateFrom(state.banks[0]!)]).toEqual([311, 311]);
    // RC 39
    expect(state.refreshFrom(1)).toBe(239);
    expect(state.activateFrom(state.banks[15]!)).toBe(206);
    expect(state.banks[15]!.activateAt).toBe(LONG_AGO);
  });

  test('eight refreshes of a rank may follow one another, the ninth waits for the first', () => {
    const state = new BankState({ ...DDR3, refreshBurstClocks: 5000 }, 2);
    for (let k = 0; k < 8; k++) {
      // RFC 208
      expect(state.refreshFrom(1)).toBe(k === 0 ? LONG_AGO : 208 * k);
      state.refresh(1, 208 * k);
    }
    expect(state.refreshFrom(1)).toBe(5000);
    expect(state.refreshFrom(0)).toBe(LONG_AGO);
    state.refresh(1, 5000);
    expect(state.refreshFrom(1)).toBe(5000 + 208);
  });

  test('closing a bank that is closed counts nothing', () => {
    const state = new BankState(DDR3, 1);
    state.activate(state.banks[2]!, 1, 0);
    state.precharge(state.banks[3]!, 30);
    expect(state.openCount[0]).toBe(1);
    state.precharge(state.banks[2]!, 30);
    state.prechargeAll(0, 60);
    expect(state.openCount[0]).toBe(0);
  });
});
