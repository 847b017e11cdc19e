import { GRADES, timingOfGrade } from '../../model/dram/grade-timing.js';
import { type Area, judge, type OutsideCheck } from '../outside-check.js';
import { banksInTurn, refreshedStreamShare } from './measured.js';
import { publishedExamples, streamExamples } from './published.js';
import { gradeTimes } from './rule-times.js';
import { workedExamples } from './worked.js';

const AREA = 'memory';

/** What closing and reopening two rows may cost a stream at every refresh, beyond the refresh itself. */
const REOPENED_PERCENT = 2.5;

/** Clocks, latencies and rates of a DRAM channel against worked and published examples, on every speed grade. */
export const memory: Area = {
  name: AREA,
  title: 'DRAM latencies, gaps, ceilings and refresh of 30 speed grades against worked and published examples',
  run: (_depth, progress) => {
    const worked = GRADES.flatMap((grade, i) => {
      const checks = [...gradeChecks(grade), ...streamChecks(grade)];
      progress((i + 1) / (GRADES.length + 1));
      return checks;
    });
    const published = [...publishedExamples(), ...streamExamples()].map((example) => judge(AREA, example));
    progress(1);
    return [...published, ...worked];
  },
};

function sourceOf(grade: string): string {
  return `dram-worked-examples.csv; data sheets named in dram-timing.csv, row ${grade}`;
}

function gradeChecks(grade: string): OutsideCheck[] {
  return workedExamples(grade).map(({ quantity, ...example }) =>
    judge(AREA, { check: `${grade}: ${quantity}`, source: sourceOf(grade), ...example }),
  );
}

/** Row hits of two banks with refresh: at most the share 1 − tRFC / tREFI, and little less. */
function streamChecks(grade: string): OutsideCheck[] {
  const timing = timingOfGrade(grade);
  const { nRFC, tckPs, tREFIps } = gradeTimes(grade);
  const comparison = {
    source: 'dram-worked-examples.md section 2: at most peak × (1 − tRFC / tREFI)',
    unit: '% of peak',
    expected: 100 * (1 - (nRFC * tckPs) / tREFIps),
    measured: 100 * refreshedStreamShare(timing, banksInTurn(timing).slice(0, 2)),
  };
  return [
    judge(AREA, { check: `${grade}: row hits with refresh, at most`, ...comparison, relation: 'at_most' }),
    judge(AREA, {
      check: `${grade}: row hits with refresh, at least`,
      ...comparison,
      relation: 'at_least',
      tolerance: REOPENED_PERCENT,
    }),
  ];
}
