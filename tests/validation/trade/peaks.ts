import { poolStudy } from '../../../src/measure/tables/pool.js';
import type { MemoryRow } from '../../../src/measure/tables/rows.js';
import { studyNow } from '../../study/study-now.js';
import { parse } from '../../scenarios/shipped.js';
import type { Comparison, Depth } from '../outside-check.js';
import { COMMON_PRACTICE } from './common-practice.js';

/** Channels of 32 bits of which the trade knows the peak. */
const FACTS = [
  { name: 'DDR3-1333', grade: 'DDR3-1333H', peak: 5.33 },
  { name: 'DDR2 at 800 MT/s', grade: 'DDR2-800D', peak: 3.2 },
  { name: 'LPDDR2 at 800 MT/s', grade: 'LPDDR2-800-S4', peak: 3.2 },
];

/** The facts are told to two decimals. */
const HALF_A_DIGIT = 0.005;
/** Share of the peak that reads in a row carry where nothing is refreshed: rows are opened while others are read. */
const STREAM = 0.99;
const MICROSECONDS = { quick: 100, full: 1000 };

/** The peak that the memory table prints, and what a stream of reads carries. */
export function peakChecks(depth: Depth): Comparison[] {
  return FACTS.flatMap(({ name, grade, peak }): Comparison[] => {
    const { peakBytesPerS, readBytesPerS } = streamed(grade, MICROSECONDS[depth]);
    const carried = readBytesPerS! / 1e9;
    const common = { source: COMMON_PRACTICE, unit: 'GB/s' };
    const check = `${name} on 32 bits`;
    return [
      { ...common, check: `${check}: peak`, expected: peak, measured: peakBytesPerS / 1e9, tolerance: HALF_A_DIGIT },
      {
        ...common,
        check: `${check}: a stream of reads carries no more`,
        expected: peak,
        measured: carried,
        tolerance: HALF_A_DIGIT,
        relation: 'at_most',
      },
      {
        ...common,
        check: `${check}: a stream of reads carries ${STREAM} of it`,
        expected: STREAM * peak,
        measured: carried,
        relation: 'at_least',
      },
    ];
  });
}

function streamed(grade: string, microseconds: number): MemoryRow {
  const scenario = parse(`
platform:
  clocks: { wide: 1 GHz }
  ports: { in: { clock: wide, width: 128 bit, to: ddr, outstanding: unlimited, queue_depth: 32 } }
  memories:
    ddr: { kind: ddr, clock: wide, width: 128 bit, grade: ${grade}, bus: 32 bit, mapping: [row, bank, column], refresh: off }
buffers: { stream: { memory: ddr, size: 16 MiB } }
masters:
  reader: { attach: in, burst: 16 beats, outstanding: 32, operations: read, buffer: stream, issue: greedy }
run: { replications: 1, warmup: 20 us, duration: ${microseconds} us, drain: 100 us }
`);
  const { memory } = poolStudy(studyNow(scenario));
  return memory.find(({ replication }) => replication === 'all')!;
}
