import { timingOfGrade, GRADES } from '../../model/dram/grade-timing.js';
import { issued } from '../../model/dram/faults.js';
import { ddrSpec } from '../../model/dram/rig.js';
import { type Area, type Depth, judge, type OutsideCheck } from '../outside-check.js';
import { delayed, EARLY_LOGS } from './early-logs.js';
import { faultsOf } from './legality.js';
import { type Mutant, mutantsOf, namedRules } from './loosened.js';
import { policiesFor, type Policy } from './policies.js';
import { type RefreshRecord, refreshRecord } from './refresh-window.js';
import { type GradeTimes, gradeTimes } from './rule-times.js';
import type { RuleName } from './rules.js';
import { phasesOf, underTraffic } from './traffic.js';

const AREA = 'legality';
const QUICK_GRADES = ['DDR2-800D-x8', 'LPDDR2-800-S4-8Gb-x32', 'DDR3-1600K-x16', 'DDR4-2400R-x16', 'LPDDR4-3200-x16ch'];
const CLOCKS = { quick: 40_000, full: 150_000 };
/** Looks of 5,000 clocks that a loosened rule is given to be named, and to show that it is implied. */
const LOOKS = 100;
const IMPLIED_LOOKS = { quick: 4, full: 12 };
/** Sparse traffic, so that a whole refresh window is soon over. */
const SPARSE_GAPS = [200, 3000, 3000];

/** The standards let eight refreshes be put off, which makes nine tREFI between two. */
const MOST_POSTPONED = 8;

/** DRAM commands against the rule table, by a checker that shares nothing with the scheduler. */
export const legality: Area = {
  name: AREA,
  title: 'logs of DRAM commands against the rule table, written apart from the scheduler',
  run: (depth, progress) => {
    const grades = depth === 'quick' ? QUICK_GRADES : GRADES;
    const early = EARLY_LOGS.map((log) => earlyCheck(log));
    const found = grades.flatMap((grade, i) => {
      const checks = [...trafficChecks(grade, depth), ...mutantChecks(grade, depth)];
      if (depth === 'full') checks.push(...windowChecks(grade));
      progress((i + 1) / grades.length);
      return checks;
    });
    return [...early, ...found, scoreOf(found)];
  },
};

/** A log by hand, one clock early: is exactly its rule named, and nothing a clock later? */
function earlyCheck({ rule, what, times, log, late }: (typeof EARLY_LOGS)[number]): OutsideCheck {
  const expected = new Set<RuleName>([rule]);
  // what lies before another command in time is early for the command bus too
  if (rule === 'order') expected.add('command_bus');
  const named = new Set(faultsOf(log, times).map((fault) => fault.rule));
  const exact = named.size === expected.size && [...expected].every((name) => named.has(name));
  const clean = !late || faultsOf(delayed(log, 1), times).length === 0;
  return judge(AREA, {
    check: `a log by hand, early for ${rule}: ${what}: that rule alone is named`,
    source: 'clocks worked by hand from the data sheets named in dram-timing.csv',
    unit: 'yes = 1',
    expected: 1,
    measured: exact && clean ? 1 : 0,
  });
}

function sourceOf(grade: string): string {
  return `JEDEC rules as quoted in dram-worked-examples.md; data sheets named in dram-timing.csv, row ${grade}`;
}

/** Random traffic under every policy: no fault, and no rank without refresh for too long. */
function trafficChecks(grade: string, depth: Depth): OutsideCheck[] {
  const times = gradeTimes(grade);
  const all = policiesFor(times.nRFCpb > 0);
  const policies = depth === 'quick' ? all.filter((_, i) => i % 3 === 1) : all;
  let commands = 0;
  const checks = policies.flatMap((policy) => {
    const { faults, length, record } = drive(grade, times, policy, CLOCKS[depth]);
    commands += length;
    const fault = judge(AREA, {
      check: `${grade}, ${policy.name}: rules broken`,
      source: sourceOf(grade),
      unit: 'commands',
      expected: 0,
      measured: faults,
    });
    return record === null ? [fault] : [fault, ...refreshChecks(`${grade}, ${policy.name}`, times, policy, record)];
  });
  const least = (CLOCKS[depth] * policies.length) / 40;
  const looked = judge(AREA, {
    check: `${grade}: commands looked at`,
    source: 'common practice, no source',
    unit: 'commands',
    expected: least,
    measured: commands,
    relation: 'at_least',
  });
  return [...checks, looked];
}

function drive(grade: string, times: GradeTimes, policy: Policy, clocks: number, gaps?: readonly number[]) {
  const timing = timingOfGrade(grade);
  const spec = ddrSpec(timing, policy.change);
  const rig = underTraffic(spec, `${grade} ${policy.name}`, gaps);
  rig.run(clocks);
  const log = rig.probe.log.map((entry) => issued(entry, timing));
  const plan = { perBank: policy.perBank, phasesPs: phasesOf(spec), windowPs: windowOf(grade, times).ps };
  const record = spec.refresh.mode === 'off' ? null : refreshRecord(log, times, plan);
  return { faults: faultsOf(log, times).length, length: log.length, record };
}

function refreshChecks(name: string, times: GradeTimes, policy: Policy, record: RefreshRecord): OutsideCheck[] {
  const { tREFIps } = times;
  const source = 'JESD79-3, JESD79-4, JESD209-2, JESD209-4: eight refreshes may be postponed (from memory)';
  return [
    judge(AREA, {
      check: `${name}: longest time between refreshes`,
      source,
      unit: 'tREFI',
      expected: 1 + MOST_POSTPONED,
      measured: record.longestPs / tREFIps,
      relation: 'at_most',
    }),
    judge(AREA, {
      check: `${name}: furthest behind one refresh every tREFI`,
      source,
      unit: 'tREFI',
      expected: policy.postpone,
      measured: record.latestPs / tREFIps,
      relation: 'at_most',
      // a refresh waits until the rules let the open rows close
      tolerance: (closingClocks(times) * times.tckPs) / tREFIps,
    }),
  ];
}

/** The longest that a refresh can wait for the rules once it is due. */
function closingClocks(t: GradeTimes): number {
  const written = t.nCWL + 1 + t.burstLength / 2 + t.nWRauto;
  const onePer = t.nRFCpb > 0 ? t.nFAW + t.nRFCpb : 0;
  return Math.max(t.nRAS, written) + t.nRPab + t.activateClocks + 2 + onePer;
}

/** A device's refresh window, and how many refreshes every cell's rank (or bank) needs in it. */
function windowOf(grade: string, times: GradeTimes): { ps: number; refreshes: number } {
  const low = times.standard.startsWith('LPDDR');
  const half = grade === 'LPDDR2-800-S4-1Gb-x32';
  return { ps: low ? 32e9 : 64e9, refreshes: half ? 4096 : 8192 };
}

/** A whole refresh window under sparse traffic: are there as many refreshes in any as the device needs? */
function windowChecks(grade: string): OutsideCheck[] {
  const times = gradeTimes(grade);
  const { ps, refreshes } = windowOf(grade, times);
  const clocks = Math.ceil((1.05 * ps) / times.tckPs);
  const modes = policiesFor(times.nRFCpb > 0).filter(({ change }) => {
    return change.scheduler === 'out_of_order' && change.page?.policy === 'open' && change.refresh?.mode !== 'off';
  });
  return modes.flatMap((policy) => {
    const { faults, record } = drive(grade, times, policy, clocks, SPARSE_GAPS);
    return [
      judge(AREA, {
        check: `${grade}, ${policy.name}: fewest refreshes in any ${ps / 1e9} ms`,
        source: 'Micron 2Gb LPDDR2-S4 Rev N p.77 (4096 in 32 ms); 8K in 64 ms (DDR4 SPD listing); others from memory',
        unit: 'refreshes',
        expected: refreshes - policy.postpone,
        measured: record!.fewest,
        relation: 'at_least',
      }),
      judge(AREA, {
        check: `${grade}, ${policy.name}: rules broken in ${ps / 1e9} ms`,
        source: sourceOf(grade),
        unit: 'commands',
        expected: 0,
        measured: faults,
      }),
    ];
  });
}

const SCORED = 'loosened by one clock in the scheduler';

function mutantChecks(grade: string, depth: Depth): OutsideCheck[] {
  return mutantsOf(grade).flatMap((mutant) =>
    mutant.implied === null ? [killCheck(grade, mutant)] : impliedChecks(grade, mutant, depth),
  );
}

function nameOf({ rule, what }: Mutant): string {
  return what === '' ? rule : `${rule} of ${what}`;
}

/** Is the rule named, and no other than it? */
function killCheck(grade: string, mutant: Mutant): OutsideCheck {
  const { rule, also, loosen, change } = mutant;
  const named = namedRules(grade, loosen(timingOfGrade(grade)), change, rule, LOOKS);
  const others = [...named].filter((name) => name !== rule && name !== also);
  return judge(AREA, {
    check: `${grade}: ${nameOf(mutant)} ${SCORED}: it alone is named`,
    source: sourceOf(grade),
    unit: 'yes = 1',
    expected: 1,
    measured: named.has(rule) && others.length === 0 ? 1 : 0,
  });
}

/** A rule that never binds alone breaks nothing alone, and is named when what implies it is loosened too. */
function impliedChecks(grade: string, mutant: Mutant, depth: Depth): OutsideCheck[] {
  const { rule, loosen, change } = mutant;
  const { reason, together } = mutant.implied!;
  const timing = timingOfGrade(grade);
  const alone = namedRules(grade, loosen(timing), change, null, IMPLIED_LOOKS[depth]);
  const both = namedRules(grade, { ...loosen(timing), ...together(timing) }, change, rule, LOOKS);
  return [
    judge(AREA, {
      check: `${grade}: ${nameOf(mutant)} loosened by one clock is implied (${reason}): rules broken`,
      source: sourceOf(grade),
      unit: 'rules',
      expected: 0,
      measured: alone.size,
    }),
    judge(AREA, {
      check: `${grade}: ${nameOf(mutant)} loosened with what implies it (${reason}): it is named`,
      source: sourceOf(grade),
      unit: 'yes = 1',
      expected: 1,
      measured: both.has(rule) ? 1 : 0,
    }),
  ];
}

function scoreOf(checks: readonly OutsideCheck[]): OutsideCheck {
  const mutants = checks.filter(({ check }) => check.includes(SCORED));
  return judge(AREA, {
    check: `mutation score over ${mutants.length} rules that can bind alone`,
    source: 'common practice, no source',
    unit: '%',
    expected: 100,
    measured: (100 * mutants.filter(({ verdict }) => verdict === 'pass').length) / mutants.length,
  });
}
