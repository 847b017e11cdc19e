import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { csvRows } from '../../src/scenario/csv-rows.js';
import { gradeNames, timingOf } from '../../src/scenario/dram-timing.js';
import type { DramTimingSpec } from '../../src/scenario/scenario.js';

const read = (path: string): Map<string, string>[] => csvRows(readFileSync(new URL(path, import.meta.url), 'utf8'));
const TABLE = new Map(read('../../src/scenario/data/dram-timing.csv').map((row) => [row.get('row_id')!, row]));
const EXAMPLES = read('../validation/dram/data/dram-worked-examples.csv');

/** The examples assume a 16-bit channel for LPDDR4 and a 32-bit bus for all others. */
function timing(grade: string, overrides: [string, number][] = [], densityGbit: number | null = null): DramTimingSpec {
  return timingOf(grade, { busBytes: grade.startsWith('LPDDR4') ? 2 : 4, densityGbit, overrides: new Map(overrides) });
}

/** The quantities of the worked examples, from derived clocks alone. Reads and writes of one bank go at tCCD_L. */
function quantities(t: DramTimingSpec): Map<string, number> {
  const tckNs = t.tckNumerator / t.tckDenominator / 1000;
  const data = t.burstLength / 2;
  const spacing = Math.max(t.nCCD_L, data);
  const share = (clocks: number): number => 100 * Math.min(1, data / clocks);
  const out = new Map<string, number>([
    ['bus_bits', t.busBytes * 8],
    ['peak_GBps', (2 * t.busBytes) / tckNs],
    ['burst_bytes', t.burstLength * t.busBytes],
    ['eff_one_bank_pct', share(t.nRC)],
    ['eff_all_banks_pct', share(t.nRC / t.banks)],
    ['eff_tFAW_pct', share(t.nFAW / 4)],
    ['eff_tRRD_S_pct', share(t.nRRD_S)],
    ['eff_random_pct', share(Math.max(t.nRC / t.banks, t.nFAW / 4, t.nRRD_S))],
    ['rd_to_wr_ck', t.nReadToWrite],
    ['wr_to_rd_ck', t.nWriteToRead_L],
    ['wr_to_rd_other_group_ck', t.nWriteToRead_S],
    ['rd_to_wr_bus_gap_ck', t.nReadToWrite + t.nCWL - t.nCL - data],
    ['wr_to_rd_bus_gap_ck', t.nWriteToRead_L + t.nCL - t.nCWL - data],
    ['write_to_precharge_ck', t.nWriteToPrecharge],
    ['write_row_cycle_ck', Math.max(t.nRC, t.nRCD + t.nWriteToPrecharge + t.nRP)],
  ]);
  for (const [name, before] of [
    ['hit', 0],
    ['closed', t.nRCD],
    ['conflict', t.nRP + t.nRCD],
  ] as const) {
    for (const [end, clocks] of [
      ['first', before + t.nCL],
      ['last', before + t.nCL + data],
    ] as const) {
      out.set(`${name}_${end}_ck`, clocks).set(`${name}_${end}_ns`, clocks * tckNs);
    }
  }
  for (const k of [1, 4, 8, 16]) {
    const period = 2 * (k - 1) * spacing + t.nReadToWrite + t.nWriteToRead_L;
    out.set(`rw_mix_eff_pct_k${k}`, (100 * 2 * k * data) / period);
  }
  for (const n of [1, 2, 4, 8, 16]) {
    const period = Math.max(t.nRC, t.nRCD + (n - 1) * spacing + t.nReadToPrecharge + t.nRP);
    out.set(`closed_page_period_ck_n${n}`, period).set(`closed_page_eff_pct_n${n}`, (100 * n * data) / period);
  }
  return out;
}

/** Stated in nanoseconds of the data sheet, which clocks do not keep. */
const NOT_FROM_CLOCKS = /^(?:one_bank_GBps|tFAW_GBps|tFAW_Mact_per_s)$/u;

describe('speed grades', () => {
  it('are the 30 rows of the table, each with its sources', () => {
    expect(gradeNames()).toHaveLength(30);
    for (const row of TABLE.values()) {
      for (const column of ['source_core', 'source_ac', 'source_refresh_geometry'])
        expect(row.get(column)).not.toBe('');
    }
  });

  it.each(gradeNames())('%s gives every worked example', (grade) => {
    const got = quantities(timing(grade));
    const examples = EXAMPLES.filter((row) => row.get('row_id') === grade);
    expect(examples.length).toBeGreaterThan(40);
    for (const example of examples) {
      const [name, expected] = [example.get('quantity')!, Number(example.get('expected'))];
      const refresh = /^refresh_pct_(\d+)Gb$/u.exec(name);
      if (NOT_FROM_CLOCKS.test(name)) continue;
      if (refresh === null) expect(got.get(name), name).toBeCloseTo(expected, 3);
      else expectRefreshShare(timing(grade, [], Number(refresh[1])), expected);
    }
  });

  it.each(gradeNames())('%s gives the clock counts of the table', (grade) => {
    const [t, row] = [timing(grade), TABLE.get(grade)!];
    const n = (column: string): number => Number(row.get(column));
    const or = (long: string, short: string): number => n(row.get(long) === '' ? short : long);
    expect(t).toMatchObject({
      nCL: n('CL_ck'),
      nCWL: n('CWL_ck'),
      nRCD: n('nRCD_ck'),
      nRP: n('nRP_ck'),
      nRAS: n('d_nRAS_ck'),
      nRC: n('d_nRC_ck'),
      nRRD_S: n('d_nRRD_S_ck'),
      nRRD_L: or('d_nRRD_L_ck', 'd_nRRD_S_ck'),
      nFAW: n('d_nFAW_ck'),
      nCCD_S: n('tCCD_S_ck'),
      nCCD_L: or('tCCD_L_ck', 'tCCD_S_ck'),
      nWR: n('d_nWR_ck'),
      nWTR_S: n('d_nWTR_S_ck'),
      nWTR_L: or('d_nWTR_L_ck', 'd_nWTR_S_ck'),
      nRTP: n('d_nRTP_ck'),
      tREFIps: n('tREFI_ps'),
      rowBytes: n('page_size_bytes') * ((t.busBytes * 8) / n('device_width_bits')),
    });
    expect(t.tckNumerator / t.tckDenominator).toBeCloseTo(n('tCK_exact_ps'), 3);
  });
});

/** Clocks cover the time, with less than one to spare (DDR4 may drop up to 2.6 % of one). */
function expectRefreshShare(t: DramTimingSpec, percent: number): void {
  const clocks = ((percent / 100) * t.tREFIps * t.tckDenominator) / t.tckNumerator;
  expect(t.nRFC - clocks).toBeGreaterThan(-0.03);
  expect(t.nRFC - clocks).toBeLessThan(1);
}

describe('published examples', () => {
  it('a DDR3 write follows a burst-chop-4 read after 4 clocks', () => {
    // Alliance AS4C512M16D3L Rev 2.0 (June 2016) p.157, Fig. 70
    const t = timing('DDR3-1066F-x16', [
      ['CL', 5],
      ['CWL', 5],
      ['burst_length', 4],
    ]);
    expect(t.nReadToWrite).toBe(4);
  });

  it.each([
    [2, 10],
    [1, 9],
  ])('a DDR4 write with a preamble of %i follows a burst-chop-4 read after 6 clocks', (preamble, cwl) => {
    // Micron 4Gb DDR4 Rev G p.205, Fig. 142 and 143
    const t = timing('DDR4-2133P-x8', [
      ['CL', 11],
      ['CWL', cwl],
      ['burst_length', 4],
      ['write_preamble', preamble],
    ]);
    expect(t.nReadToWrite).toBe(6);
  });

  it('a DDR4 activate follows a read with auto-precharge after 17 clocks', () => {
    // Micron 4Gb DDR4 Rev G p.211, Fig. 152: tRTP 6, tRP 11
    const t = timing('DDR4-2133P-x8', [
      ['tCK', 1250],
      ['tRP', 13_750],
    ]);
    expect(t.nReadToPrecharge + t.nRP).toBe(17);
  });

  it('an LPDDR2 burst refresh goes every 0.52 us', () => {
    // Micron 2Gb LPDDR2-S4 Rev N (3/12) p.77: 4 x tRFCab of 1Gb
    const t = timing('LPDDR2-800-S4-1Gb-x32');
    expect((4 * t.nRFC * t.tckNumerator) / t.tckDenominator).toBe(520_000);
  });

  it('an LPDDR4 bank is refreshed every 488 ns, its rank for 180 ns', () => {
    // NXP DDR tool help, LPDDR4-3200, 4Gb per channel
    const t = timing('LPDDR4-3200-x16ch', [], 4);
    expect(t.tREFIps / t.banks).toBe(488_000);
    expect((t.nRFC * t.tckNumerator) / t.tckDenominator).toBe(180_000);
  });

  it.each([
    ['DDR3-1333H-x8', '9-9-9-24'],
    ['DDR3-1600K-x8', '11-11-11-28'],
    ['DDR4-2133P-x8', '15-15-15-36'],
    ['DDR4-2400T-x8', '17-17-17-39'],
    ['DDR4-2666V-x8', '19-19-19-43'],
    ['DDR4-3200AA-x8', '22-22-22-52'],
  ])('%s is %s', (grade, printed) => {
    // SPD listings of modules
    const { nCL, nRCD, nRP, nRAS } = timing(grade);
    expect([nCL, nRCD, nRP, nRAS].join('-')).toBe(printed);
  });

  it('a DDR2-800E precharge follows a write after 15 clocks', () => {
    // Samsung K4N51163QC Rev 1.5 p.46: WL + BL/2 + tWR
    expect(timing('DDR2-800E-x16').nWriteToPrecharge).toBe(15);
  });

  it('DDR3 turns the bus by the formulas of a protocol analyser', () => {
    // Teledyne LeCroy Kibra manual 5.1.15 and 5.1.18, with tCCD 4 and tWTR 7.5 ns = 6 clocks at DDR3-1600
    const t = timing('DDR3-1600K-x16');
    expect([t.nReadToWrite, t.nWriteToRead_S]).toEqual([11 - 8 + 2 + 4, 8 + 6 + 4]);
  });

  it('DDR4-3200AA with a 2 KB page has tRRD of 9 and 11 clocks', () => {
    // vendor settings of an FPGA memory controller: 5.3 ns, 6.4 ns, CL 22, CWL 16
    expect(timing('DDR4-3200AA-x16')).toMatchObject({ nRRD_S: 9, nRRD_L: 11, nCL: 22, nCWL: 16, nFAW: 48 });
  });
});

describe('what the standard adds', () => {
  it('a precharge of all banks takes longer on DDR2 and LPDDR only', () => {
    const nRPab = (grade: string): number => timing(grade).nRPab;
    expect([nRPab('DDR2-800D-x8'), nRPab('LPDDR2-800-S4-4Gb-x32'), nRPab('DDR3-1600K-x8')]).toEqual([6, 9, 11]);
    // 21 ns at 0.625 ns and at 0.46875 ns
    expect([nRPab('LPDDR4-3200-x16ch'), nRPab('LPDDR4X-4266-x16ch')]).toEqual([34, 45]);
  });

  it('the period is an exact reduced fraction', () => {
    const period = (grade: string): [number, number] => [timing(grade).tckNumerator, timing(grade).tckDenominator];
    expect(period('DDR3-1866M-x8')).toEqual([7500, 7]);
    expect(period('DDR4-2400R-x8')).toEqual([2500, 3]);
    expect(period('LPDDR4X-4266-x16ch')).toEqual([1875, 4]);
    expect(timing('DDR4-2400R-x8', [['tCK', 2500 / 3]])).toEqual(timing('DDR4-2400R-x8'));
  });

  it('DDR4 drops a sliver of a clock, as with the truncated periods that data sheets print', () => {
    // 5 ns / 0.833 ns = 6.002 and 14.06 ns / 0.937 ns = 15.005 are printed as 6 and 15 clocks; DDR3 rounds all up
    expect(timing('DDR4-2400R-x8', [['tCK', 833]]).nCCD_L).toBe(6);
    expect(timing('DDR4-2133P-x8', [['tCK', 937]]).nRCD).toBe(15);
    expect(timing('DDR3-1866M-x8', [['tCK', 1071]]).nRTP).toBe(8);
  });

  it('LPDDR4 commands take four clocks and its read data comes late', () => {
    expect(timing('LPDDR4-3200-x16ch')).toMatchObject({ activateClocks: 4, columnClocks: 4, nDQSCK: 6, nRFCpb: 144 });
    expect(timing('DDR4-3200AA-x8')).toMatchObject({ activateClocks: 1, columnClocks: 1, nDQSCK: 0, nRFCpb: 0 });
  });

  it('LPDDR4 takes the write recovery of an auto-precharge from a mode register, which holds few values', () => {
    // NXP DDR tool help, LPDDR4-3200: nWR 30 though tWR is 29 clocks; 40 and 39 at 4266
    const recoveries = (grade: string): number[] => [timing(grade).nWR, timing(grade).nWRauto];
    expect(recoveries('LPDDR4-3200-x16ch')).toEqual([29, 30]);
    expect(recoveries('LPDDR4X-4266-x16ch')).toEqual([39, 40]);
    expect(recoveries('DDR4-3200AA-x8')).toEqual([24, 24]);
    expect(timing('LPDDR4-3200-x16ch', [['nWR', 50]]).nWRauto).toBe(50);
  });

  it('refresh follows the density: 4 Gbit where there is one, else the largest', () => {
    expect([1, 2, 4, 8, null].map((gbit) => timing('DDR3-1600K-x8', [], gbit).nRFC)).toEqual([88, 128, 208, 280, 208]);
    expect(timing('LPDDR2-800-S4-2Gb-x32').nRFC).toBe(52);
    expect(timing('LPDDR2-800-S4-8Gb-x32')).toMatchObject({ nRFC: 84, nRFCpb: 36 });
    expect(() => timing('DDR4-2400R-x8', [], 1)).toThrow('no device of 1 Gbit, must be one of 2, 4, 8, 16 Gbit');
  });
});

describe('stated values', () => {
  const STATED: [string, number][] = [
    ...([
      ['tCK', 1250],
      ['CL', 11],
      ['CWL', 8],
      ['tRCD', 13_750],
      ['tRP', 13_750],
      ['tRAS', 35_000],
    ] as [string, number][]),
    ...([
      ['tRRD_S', 7500],
      ['tFAW', 40_000],
      ['tCCD_S', 5000],
      ['tWR', 15_000],
      ['tWTR_S', 7500],
    ] as [string, number][]),
    ...([
      ['tRTP', 7500],
      ['tRFC', 260_000],
      ['tREFI', 7_800_000],
      ['burst_length', 8],
      ['banks', 8],
    ] as [string, number][]),
    ...([
      ['page_bytes', 2048],
      ['device_bits', 16],
    ] as [string, number][]),
  ];
  const custom = (stated: [string, number][]): DramTimingSpec =>
    timingOf(null, { busBytes: 4, densityGbit: null, overrides: new Map(stated) });

  it('alone give what the grade with the same values gives', () => {
    expect(custom(STATED)).toEqual({ ...timing('DDR3-1600K-x16'), grade: null, standard: 'custom' });
  });

  it('alone must be complete', () => {
    const some = STATED.filter(([name]) => name !== 'tFAW' && name !== 'banks');
    expect(() => custom(some)).toThrow('without a speed grade must state tFAW, banks');
    expect(() => custom([...STATED, ['bank_groups', 2]])).toThrow('must state tRRD_L, tCCD_L, tWTR_L');
  });

  it('replace those of the grade before anything follows from them', () => {
    const t = timing('DDR3-1600K-x16', [
      ['tRP', 15_000],
      ['tWTR_S', 10_000],
      ['tRFC', 300_000],
      ['rank_gap', 0],
    ]);
    expect(t).toMatchObject({ nRP: 12, nRPab: 12, nRC: 40, nWTR_L: 8, nWriteToRead_L: 20, nRFC: 240, nRankGap: 0 });
  });

  it('a late strobe counts without a grade, and not for a grade whose data come with the clock', () => {
    // 5 ns are 4 clocks of 1.25 ns
    expect(custom([...STATED, ['tDQSCK', 5000]]).nDQSCK).toBe(4);
    expect(timing('DDR3-1600K-x16', [['tDQSCK', 5000]]).nDQSCK).toBe(0);
  });

  it('DDR2 precharges all of four banks as it does one, and as long as is stated', () => {
    expect(timing('DDR2-800D-x8', [['banks', 4]]).nRPab).toBe(5);
    // 20 ns at 2.5 ns
    expect(timing('DDR2-800D-x8', [['tRPab', 20_000]]).nRPab).toBe(8);
    expect(timing('DDR3-1600K-x16', [['tRPab', 20_000]]).nRPab).toBe(16);
  });

  it('a stated density and a stated refresh go together without a grade', () => {
    const t = timingOf(null, { busBytes: 4, densityGbit: 3, overrides: new Map(STATED) });
    // 260 ns at 1.25 ns
    expect([t.nRFC, t.nRFCpb, t.refreshBurstClocks]).toEqual([208, 0, 0]);
    expect(timing('DDR3-1600K-x16', [['tRFC', 100_000]], 3).nRFC).toBe(80);
  });

  it('may be in clocks, which then hold as they are', () => {
    const t = timing('DDR4-2400R-x8', [
      ['nRCD', 20],
      ['nRTP', 3],
      ['nCCD_L', 5],
      ['nRFC', 400],
      ['nRRD_S', 4],
    ]);
    expect(t).toMatchObject({ nRCD: 20, nRTP: 3, nCCD_L: 5, nRFC: 400, nReadToPrecharge: 3 });
    const times = STATED.filter(([name]) => name !== 'tFAW');
    expect(custom([...times, ['nFAW', 32]])).toEqual(custom(STATED));
    expect(() => timing('DDR4-2400R-x8', [['nREFI', 9]])).toThrow("unknown DRAM timing 'nREFI'");
  });

  it.each<[string, [string, number], string]>([
    ['an unknown name', ['tXYZ', 1], "unknown DRAM timing 'tXYZ'"],
    ['a time of zero', ['tRP', 0], 'tRP must be above 0, got 0'],
    ['no number', ['tRP', Number.NaN], 'tRP must be above 0'],
    ['part of a clock', ['CL', 10.5], 'CL must be a whole number, got 10.5'],
    ['a time between groups that are not there', ['tRRD_L', 9000], 'where there is one bank group'],
    ['a device wider than the bus', ['device_bits', 64], 'whole number of 64-bit devices wide, got 32 bits'],
    ['a bus of a device and a third', ['device_bits', 24], 'whole number of 24-bit devices wide, got 32 bits'],
    ['an odd burst', ['burst_length', 7], 'burst_length must be even, got 7'],
    ['banks that do not divide', ['bank_groups', 3], '8 banks do not divide into 3 bank groups'],
    ['a preamble that the standard fixes', ['write_preamble', 2], 'must not be stated for DDR3'],
  ])('%s is an error', (_, stated, message) => {
    expect(() => timing('DDR3-1600K-x16', [stated])).toThrow(message);
  });

  it('an unknown grade is answered with those that there are', () => {
    expect(() => timing('DDR9')).toThrow(/unknown speed grade 'DDR9'.*LPDDR4X-4266-x16ch/u);
  });
});

describe('CSV rows', () => {
  it('keep commas, quotes and line ends inside quotes', () => {
    expect(csvRows('a,b\r\n"1,2","say ""x""\n"\r\n,\n').map((row) => [...row.values()])).toEqual([
      ['1,2', 'say "x"\n'],
      ['', ''],
    ]);
  });

  it.each(['', 'a,a\n1,2\n', 'a,b\n1\n', 'a\n1"2\n', 'a\n"1\n', 'a\n"1"2\n'])('%j is refused', (text) => {
    expect(() => csvRows(text)).toThrow(RangeError);
  });
});
