import { describe, expect, it, test } from 'vitest';
import { commandGaps } from '../../src/scenario/dram-gaps.js';
import type { DramInputs } from '../../src/scenario/dram-grade.js';

type Standard = DramInputs['standard'];

const CLOCKS = {
  burstLength: 8,
  nCL: 11,
  nCWL: 8,
  nCCD_S: 4,
  nWR: 12,
  nWRauto: 16,
  nWTR_S: 4,
  nWTR_L: 6,
  nRTP: 6,
  nDQSCK: 3,
};

function gaps(standard: Standard, change: Partial<typeof CLOCKS> = {}, overrides: [string, number][] = []) {
  const inputs: DramInputs = { grade: null, standard, row: new Map(), overrides: new Map(overrides) };
  return commandGaps(inputs, { ...CLOCKS, ...change });
}

describe('gaps between commands, by hand from CL 11, CWL 8, four clocks of data, WR 12, WTR 4 and 6, RTP 6', () => {
  // read to write: CL − CWL is 3; write end: CWL + data is 12, one more where writes start tDQSS late
  test.each<[Standard, toWrite: number, writeEnd: number, toPrecharge: number]>([
    // data and a clock of turn; RTP counts from the last but one clock of data
    ['DDR2', 3 + 4 + 1, 12, 4 + 6 - 2],
    // tCCD and two
    ['DDR3', 3 + 4 + 2, 12, 6],
    // tDQSCK 3, data, a clock, a preamble of 1
    ['DDR4', 3 + 3 + 4 + 1 + 1, 12, 6],
    ['custom', 3 + 3 + 4 + 1 + 1, 12, 6],
    ['LPDDR2-S4', 3 + 3 + 4 + 1, 13, 4 + 6 - 2],
    // a preamble of 2; RTP below eight clocks costs no more than the data
    ['LPDDR4', 3 + 3 + 4 + 2, 13, 4],
    ['LPDDR4X', 3 + 3 + 4 + 2, 13, 4],
  ])('%s', (standard, toWrite, writeEnd, toPrecharge) => {
    expect(gaps(standard)).toEqual({
      nReadToWrite: toWrite,
      nWriteToRead_S: writeEnd + 4,
      nWriteToRead_L: writeEnd + 6,
      nReadToPrecharge: toPrecharge,
      nWriteToPrecharge: writeEnd + 12,
      nWriteToAutoPrecharge: writeEnd + 16,
    });
  });

  it('counts a long or a short RTP beside the data', () => {
    expect(gaps('LPDDR4', { nRTP: 10 }).nReadToPrecharge).toBe(4 + 10 - 8);
    expect(gaps('DDR2', { nRTP: 1 }).nReadToPrecharge).toBe(4);
  });

  it('halves tCCD, upwards, for DDR3 bursts of four', () => {
    expect(gaps('DDR3', { burstLength: 4 })).toMatchObject({ nReadToWrite: 3 + 2 + 2, nWriteToPrecharge: 10 + 12 });
    expect(gaps('DDR3', { burstLength: 4, nCCD_S: 5 }).nReadToWrite).toBe(3 + 3 + 2);
  });

  it('lets no write go before the read that it follows', () => {
    expect(gaps('DDR3', { nCL: 5, nCWL: 30 }).nReadToWrite).toBe(1);
    expect(gaps('DDR3', { nCL: 5, nCWL: 9 }).nReadToWrite).toBe(2);
  });

  it('takes a preamble where there is a choice, and refuses it where there is none', () => {
    const stated: [string, number][] = [['write_preamble', 3]];
    expect(gaps('DDR4', {}, stated).nReadToWrite).toBe(3 + 3 + 4 + 1 + 3);
    expect(gaps('custom', {}, stated).nReadToWrite).toBe(3 + 3 + 4 + 1 + 3);
    expect(gaps('LPDDR4', {}, stated).nReadToWrite).toBe(3 + 3 + 4 + 3);
    expect(gaps('LPDDR4X', {}, stated).nReadToWrite).toBe(3 + 3 + 4 + 3);
    for (const standard of ['DDR2', 'DDR3', 'LPDDR2-S4'] as const) {
      expect(() => gaps(standard, {}, stated)).toThrow(`write_preamble must not be stated for ${standard}`);
    }
  });
});
