// Published examples with exact answers, and worked figures that stand outside the table of examples. Two published ones have
// nothing in the model to be held against: a whole LPDDR2 device refreshed in one go, and the exit from self-refresh (P6
// and P9 of the worked examples).
import { timingOf } from '../../../src/scenario/dram-timing.js';
import type { DramTimingSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from '../../model/dram/grade-timing.js';
import type { Comparison } from '../outside-check.js';
import {
  activateSpacing,
  activateToPrecharge,
  allBankRefreshes,
  bankRefreshInterval,
  banksInTurn,
  hitSpacing,
  oneBurst,
  readAutoToActivate,
  readLatencies,
  rowPeriod,
  rowStreamShare,
  sameGroupActivates,
  turnarounds,
  writeToPrecharge,
} from './measured.js';

/** A grade on a bus of some width, with some values replaced: times in ps, the rest in clocks. */
function stated(grade: string, values: Readonly<Record<string, number>>, busBytes = 4): DramTimingSpec {
  return timingOf(grade, { busBytes, densityGbit: null, overrides: new Map(Object.entries(values)) });
}

const psOf = (timing: DramTimingSpec, clocks: number): number => (clocks * timing.tckNumerator) / timing.tckDenominator;

/** Bytes per nanosecond of row hits over all banks. */
function peak(timing: DramTimingSpec): number {
  return (1000 * oneBurst(timing).bytes) / psOf(timing, hitSpacing(timing, banksInTurn(timing)));
}

/** All published examples, measured. */
export function publishedExamples(): Comparison[] {
  return [...turnaroundExamples(), ...refreshExamples(), ...listings(), ...peaks(), ...controllerSettings()];
}

function turnaroundExamples(): Comparison[] {
  const chopped = stated('DDR3-1066F-x16', { CL: 5, CWL: 5, burst_length: 4 });
  const ddr4 = (CWL: number, write_preamble: number): DramTimingSpec =>
    stated('DDR4-2133P-x8', { CL: 11, CWL, burst_length: 4, write_preamble });
  const micron = 'Micron 4Gb DDR4 Rev G';
  const kibra = 'Teledyne LeCroy Kibra DDR analyzer manual, 5.1.15 and 5.1.18';
  const ddr3 = turnarounds(timingOfGrade('DDR3-1600K-x16'));
  return [
    clocks(
      'DDR3 burst-chop read to write',
      'Alliance AS4C512M16D3L Rev 2.0 p.157, Fig. 70',
      4,
      turnarounds(chopped).toWrite,
    ),
    clocks(
      'DDR4 burst-chop read to write, preamble 2',
      `${micron} p.205, Fig. 142`,
      6,
      turnarounds(ddr4(10, 2)).toWrite,
    ),
    clocks(
      'DDR4 burst-chop read to write, preamble 1',
      `${micron} p.205, Fig. 143`,
      6,
      turnarounds(ddr4(9, 1)).toWrite,
    ),
    clocks(
      'DDR4 read with auto-precharge to activate',
      `${micron} p.211, Fig. 152`,
      17,
      readAutoToActivate(stated('DDR4-2133P-x8', { tCK: 1250, tRP: 13_750 })),
    ),
    clocks(
      'DDR2-800E write to precharge',
      'Samsung K4N51163QC Rev 1.5 p.46: WL + BL/2 + tWR',
      15,
      writeToPrecharge(timingOfGrade('DDR2-800E-x8')),
    ),
    clocks('DDR3-1600 read to write: CL − CWL + 2 + tCCD', kibra, 11 - 8 + 2 + 4, ddr3.toWrite),
    clocks('DDR3-1600 write to read: CWL + tWTR + BL/2', kibra, 8 + 6 + 4, ddr3.toRead),
  ];
}

function refreshExamples(): Comparison[] {
  const lpddr2 = timingOfGrade('LPDDR2-800-S4-1Gb-x32');
  const burst = allBankRefreshes(lpddr2, true);
  const spread = allBankRefreshes(lpddr2, false);
  const micron = 'Micron 2Gb LPDDR2-S4 Rev N p.77';
  return [
    {
      check: 'LPDDR2 1Gb refreshes in a burst: mean distance over nine',
      source: micron,
      unit: 'us',
      expected: 0.52,
      measured: psOf(lpddr2, (burst[9]! - burst[1]!) / 8) / 1e6,
    },
    {
      check: 'LPDDR2 1Gb refreshes spread over 32 ms',
      source: `${micron}: 32 ms / 4096, printed as 7.8 us`,
      unit: 'us',
      expected: 7.8,
      // each goes at the next clock edge
      tolerance: 0.002_5 / (spread.length - 1),
      measured: psOf(lpddr2, (spread.at(-1)! - spread[0]!) / (spread.length - 1)) / 1e6,
    },
    {
      check: 'LPDDR4 4Gb refreshes bank by bank',
      source: 'NXP DDR tool help, LPDDR4-3200: tREFI / 8',
      unit: 'ns',
      expected: 488,
      tolerance: 0.01,
      measured: bankRefreshInterval(timingOfGrade('LPDDR4-3200-x16ch')) / 1000,
    },
  ];
}

const SPD: readonly (readonly [grade: string, printed: string])[] = [
  ['DDR3-1333H-x8', '9-9-9-24'],
  ['DDR3-1600K-x8', '11-11-11-28'],
  ['DDR4-2133P-x8', '15-15-15-36'],
  ['DDR4-2400T-x8', '17-17-17-39'],
  ['DDR4-2666V-x8', '19-19-19-43'],
  ['DDR4-3200AA-x8', '22-22-22-52'],
];

/** CL-RCD-RP-RAS as modules print them. */
function listings(): Comparison[] {
  return SPD.flatMap(([grade, printed]) => {
    const timing = timingOfGrade(grade);
    const [hit, closed, conflict] = readLatencies(timing);
    const data = Math.round(oneBurst(timing).clocks);
    const measured = [hit - data, closed - hit, conflict - closed, activateToPrecharge(timing)];
    const names = ['CL', 'tRCD', 'tRP', 'tRAS'];
    return printed.split('-').map((value, i) => {
      return clocks(
        `${grade} ${names[i]} of ${printed}`,
        'stored SPD listings of modules',
        Number(value),
        measured[i]!,
      );
    });
  });
}

function peaks(): Comparison[] {
  const modules = 'class names of 64-bit modules';
  return [
    rate('LPDDR4X-4266 on 16 bits', 'Rayson LPDDR4X data sheet', 8.533, peak(timingOfGrade('LPDDR4X-4266-x16ch'))),
    rate('DDR3-1600 on 64 bits', `${modules}: PC3-12800`, 12.8, peak(stated('DDR3-1600K-x8', {}, 8))),
    rate('DDR4-3200 on 64 bits', `${modules}: PC4-25600`, 25.6, peak(stated('DDR4-3200AA-x8', {}, 8))),
    rate('DDR4-2666 on 64 bits', `${modules}: PC4-21300`, 21.33, peak(stated('DDR4-2666V-x8', {}, 8))),
  ];
}

function controllerSettings(): Comparison[] {
  const timing = timingOfGrade('DDR4-3200AA-x16');
  const source = 'stored vendor settings of an FPGA memory controller, DDR4-3200AA, x16 devices';
  const { second, fifth } = activateSpacing(timing);
  const tckNs = psOf(timing, 1) / 1000;
  return [
    clocks('DDR4-3200AA x16 tRRD_S', source, 9, second),
    clocks('DDR4-3200AA x16 tRRD_L', source, 11, sameGroupActivates(timing)),
    clocks('DDR4-3200AA x16 CL', source, 22, readLatencies(timing)[0] - Math.round(oneBurst(timing).clocks)),
    // 45.75 ns are 73.2 clocks
    {
      check: 'DDR4-3200AA x16 tRC',
      source,
      unit: 'ns',
      expected: 45.75,
      measured: rowPeriod(timing, 1) * tckNs,
      tolerance: tckNs,
    },
    { check: 'DDR4-3200AA x16 tFAW', source, unit: 'ns', expected: 30, measured: fifth * tckNs },
  ];
}

/** Sections 6a and 6b of the worked examples, and the bound of section 2. */
export function streamExamples(): Comparison[] {
  const source = 'dram-worked-examples.md sections 2, 6a, 6b: arithmetic on dram-timing.csv';
  const ddr3 = timingOfGrade('DDR3-1333H-x16');
  const rows = 128;
  const hits = (grade: string, banks: (t: DramTimingSpec) => readonly number[]): number => {
    const timing = timingOfGrade(grade);
    return (100 * timing.burstLength) / 2 / hitSpacing(timing, banks(timing));
  };
  const groups: readonly (readonly [string, number])[] = [
    ['DDR4-2133P-x8', 66.67],
    ['DDR4-2400R-x8', 66.67],
    ['DDR4-2666V-x8', 57.14],
    ['DDR4-3200AA-x8', 50],
  ];
  return [
    clocks('DDR3-1333H x16 whole rows of one bank, one after the other', source, 531, rowPeriod(ddr3, rows)),
    {
      ...percent(
        'DDR3-1333H x16 the same with refresh of 4Gb devices',
        source,
        93.21,
        rowStreamShare(ddr3, rows) * 100,
      ),
      relation: 'at_most',
    },
    ...groups.flatMap(([grade, expected]) => [
      percent(
        `${grade} row hits in one bank group`,
        source,
        expected,
        hits(grade, () => [0]),
      ),
      percent(`${grade} row hits in all bank groups`, source, 100, hits(grade, banksInTurn)),
    ]),
  ];
}

/** Figures are printed to four digits. */
const PRINTED = 0.005;

function clocks(check: string, source: string, expected: number, measured: number): Comparison {
  return { check, source, unit: 'clocks', expected, measured };
}

function rate(check: string, source: string, expected: number, measured: number): Comparison {
  return { check: `${check}: peak`, source, unit: 'GB/s', expected, measured, tolerance: PRINTED };
}

function percent(check: string, source: string, expected: number, measured: number): Comparison {
  return { check, source, unit: '%', expected, measured, tolerance: PRINTED };
}
