// Every rule loosened by one clock in the scheduler, one at a time: the checker, which has the true table, must name it.
import type { DdrSpec, DramTimingSpec } from '../../../src/scenario/scenario.js';
import { issued } from '../../model/dram/faults.js';
import { timingOfGrade } from '../../model/dram/grade-timing.js';
import { ddrSpec } from '../../model/dram/rig.js';
import { LegalityChecker } from './legality.js';
import { gradeTimes, type RuleTimes } from './rule-times.js';
import type { RuleName } from './rules.js';
import { underTraffic } from './traffic.js';

type Loosening = (t: DramTimingSpec) => Partial<DramTimingSpec>;

/** A rule that can never be the only one to bind on a device. */
export interface Implied {
  readonly reason: string;
  /** What must be loosened with it so that it binds. */
  readonly together: Loosening;
}

/** One rule, one clock looser in the scheduler. */
export interface Mutant {
  readonly rule: RuleName;
  readonly what: string;
  readonly loosen: Loosening;
  readonly change: Partial<DdrSpec>;
  /** A rule that the same value of the scheduler stands for. */
  readonly also: RuleName | null;
  readonly implied: Implied | null;
}

type Draft = Partial<Mutant> & Pick<Mutant, 'rule' | 'loosen'>;

/** The mutants of a grade. */
export function mutantsOf(grade: string): Mutant[] {
  const t = gradeTimes(grade);
  const drafts: Draft[] = [
    { rule: 'tRCD', loosen: less('nRCD') },
    { rule: 'tRAS', loosen: less('nRAS') },
    { rule: 'tRC', loosen: less('nRC'), implied: impliedRowCycle(t) },
    { rule: 'tRP', loosen: less('nRP') },
    { rule: 'tRPab', loosen: less('nRPab') },
    { rule: 'tFAW', loosen: less('nFAW'), implied: impliedWindow(t) },
    { rule: 'data_bus', loosen: shorterBurst, implied: impliedData(t) },
    { rule: 'rank_gap', loosen: less('nRankGap'), change: { ranks: 2 } },
    { rule: 'read_to_write', loosen: less('nReadToWrite') },
    { rule: 'tRTP', loosen: less('nReadToPrecharge') },
    { rule: 'tWR', loosen: less('nWriteToPrecharge') },
    { rule: 'read_auto', loosen: less('nReadToPrecharge'), change: CLOSED, also: 'tRTP' },
    { rule: 'write_auto', loosen: less('nWriteToAutoPrecharge'), change: CLOSED, also: 'tWR' },
    { rule: 'tRFC', loosen: less('nRFC') },
    { rule: 'command_bus', what: 'activates', loosen: less('activateClocks') },
    { rule: 'command_bus', what: 'reads and writes', loosen: less('columnClocks') },
    ...groupDrafts(t),
  ];
  if (t.nRFCpb > 0) drafts.push({ rule: 'tRFCpb', loosen: less('nRFCpb'), change: PER_BANK });
  if (t.standard === 'LPDDR2-S4') {
    drafts.push({ rule: 'refresh_burst', loosen: less('refreshBurstClocks'), change: POSTPONED });
  }
  return drafts.map((draft) => ({ what: '', change: {}, also: null, implied: null, ...draft }));
}

const CLOSED: Partial<DdrSpec> = { page: { policy: 'closed', idlePs: 0 } };
const PER_BANK: Partial<DdrSpec> = { refresh: { mode: 'per_bank', postpone: 0 } };
const POSTPONED: Partial<DdrSpec> = { refresh: { mode: 'all_bank', postpone: 8 } };

/** Rules with one value in a bank group and another across; a device without groups has one for both. */
function groupDrafts(t: RuleTimes & { readonly bankGroups: number }): Draft[] {
  const implied = impliedSpacing(t);
  if (t.bankGroups === 1) {
    return [
      { rule: 'tRRD_L', loosen: less('nRRD_S', 'nRRD_L') },
      { rule: 'tCCD_L', loosen: less('nCCD_S', 'nCCD_L'), implied },
      { rule: 'tWTR_L', loosen: less('nWriteToRead_S', 'nWriteToRead_L') },
    ];
  }
  return [
    { rule: 'tRRD_S', loosen: less('nRRD_S') },
    { rule: 'tRRD_L', loosen: less('nRRD_L') },
    { rule: 'tCCD_S', loosen: less('nCCD_S'), implied },
    { rule: 'tCCD_L', loosen: less('nCCD_L') },
    { rule: 'tWTR_S', loosen: less('nWriteToRead_S') },
    { rule: 'tWTR_L', loosen: less('nWriteToRead_L') },
  ];
}

function impliedRowCycle(t: RuleTimes): Implied | null {
  if (t.nRC > t.nRAS + t.nRP) return null;
  return { reason: 'tRC = tRAS + tRP', together: less('nRAS') };
}

function impliedWindow(t: RuleTimes): Implied | null {
  if (t.nFAW > 4 * t.nRRD_S) return null;
  return { reason: 'tFAW = 4 tRRD', together: less('nRRD_S', 'nRRD_L') };
}

/** Two commands of a direction: the burst on the bus and tCCD ask for the same, or one for more than the other. */
function impliedSpacing(t: RuleTimes): Implied | null {
  if (t.nCCD_S > t.burstLength / 2) return null;
  // where tCCD is shorter than the data by more than a clock, only its own value brings it out
  const gap = t.burstLength / 2 - t.nCCD_S;
  const reason = gap === 0 ? 'tCCD = BL/2, the data bus' : `tCCD = BL/2 − ${gap}, the data bus`;
  return { reason, together: (u) => ({ burstLength: u.burstLength - 2 * (gap + 1) }) };
}

function impliedData(t: RuleTimes): Implied | null {
  if (t.nCCD_S < t.burstLength / 2) return null;
  return { reason: 'BL/2 = tCCD', together: less('nCCD_S', ...(t.nCCD_L === t.nCCD_S ? (['nCCD_L'] as const) : [])) };
}

type Clocks = {
  [Key in keyof DramTimingSpec]: DramTimingSpec[Key] extends number ? Key : never;
}[keyof DramTimingSpec];

function less(...keys: readonly Clocks[]): Loosening {
  return (t) => Object.fromEntries(keys.map((key) => [key, t[key] - 1]));
}

/** Two beats are one clock of data. */
function shorterBurst(t: DramTimingSpec): Partial<DramTimingSpec> {
  return { burstLength: t.burstLength - 2 };
}

/** Looked at every so many clocks, and given up after so many looks. */
const LOOK_CLOCKS = 5_000;

/**
 * The rules that the checker names over random traffic through a loosened scheduler, until it has named `until` or the
 * time is over.
 */
export function namedRules(
  grade: string,
  loosened: Partial<DramTimingSpec>,
  change: Partial<DdrSpec>,
  until: RuleName | null,
  looks: number,
): Set<RuleName> {
  const timing = timingOfGrade(grade);
  const spec = ddrSpec(timing, { refresh: { mode: 'all_bank', postpone: 0 }, capPs: 500_000, ...change });
  // refreshed more often than need be, so that refreshes are met soon; the rules do not ask how often
  const rig = underTraffic({ ...spec, timing: { ...timing, tREFIps: 2_600_000, ...loosened } }, grade);
  const checker = new LegalityChecker(gradeTimes(grade));
  const named = new Set<RuleName>();
  let read = 0;
  for (let look = 1; look <= looks && (until === null || !named.has(until)); look++) {
    rig.run(look * LOOK_CLOCKS);
    for (; read < rig.probe.log.length; read++) {
      for (const { rule } of checker.next(issued(rig.probe.log[read]!, timing))) named.add(rule);
    }
  }
  return named;
}
