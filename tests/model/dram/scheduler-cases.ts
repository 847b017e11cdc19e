/** Random traffic that the channel and a scheduler which decides every clock anew are both put to. */
import seedrandom from 'seedrandom';
import { expect } from 'vitest';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { ClockwiseScheduler } from './clockwise-scheduler.js';
import { timingOfGrade } from './grade-timing.js';
import { faultsOf } from './faults.js';
import { ddrSpec, Rig, type Wanted } from './rig.js';

export interface Traffic {
  /** Accesses that arrive per 100 clocks, on average, in bursts of up to `together`. */
  readonly per100: number;
  readonly together: number;
  readonly writeShare: number;
  readonly rows: number;
  readonly columns: number;
  /** Share of accesses that use only a part of the DRAM burst. */
  readonly partial?: number;
  readonly qos?: number;
  /** Clocks without arrivals, now and then. */
  readonly pause?: number;
}

/** Random arrivals: [ps, accesses], at most as many waiting as the queues hold. */
function arrivals(
  spec: DdrSpec,
  traffic: Traffic,
  clocks: number,
  seed: string,
): { clock: number; wanted: Wanted[] }[] {
  const random = seedrandom.xor4096(seed);
  const below = (n: number): number => Math.floor(random() * n);
  const size = spec.timing.burstLength * spec.timing.busBytes;
  const out: { clock: number; wanted: Wanted[] }[] = [];
  for (let clock = 0; clock < clocks; clock++) {
    if (random() < 0.0005) clock += traffic.pause ?? 0;
    if (random() >= traffic.per100 / 100 / traffic.together) continue;
    const wanted = Array.from({ length: 1 + below(2 * traffic.together - 1) }, (): Wanted => {
      const part = random() < (traffic.partial ?? 0);
      const low = part ? below(size / 2) : 0;
      return {
        write: random() < traffic.writeShare,
        bank: below(spec.ranks * spec.timing.banks),
        row: below(traffic.rows),
        column: below(traffic.columns),
        low,
        high: part ? low + 1 + below(size - low) : size,
        qos: below(traffic.qos ?? 1),
      };
    });
    out.push({ clock, wanted });
  }
  return out;
}

/** Runs both schedulers over the same arrivals; those that would overfill a queue of the slow one are left out of both. */
function compare(spec: DdrSpec, traffic: Traffic, clocks: number, seed: string, firstRefreshPs: number): Rig {
  const phases = Array.from({ length: spec.ranks }, (_, rank) => firstRefreshPs + rank * 777_777);
  const rig = new Rig(spec, undefined, phases);
  const slow = new ClockwiseScheduler(spec, (clock) => rig.clock.at(clock), phases);
  const planned = arrivals(spec, traffic, clocks, seed);
  let next = 0;
  for (let clock = 0; clock < clocks; clock++) {
    while (next < planned.length && planned[next]!.clock <= clock) {
      const fitting: Wanted[] = [];
      for (const wanted of planned[next++]!.wanted) {
        const room = (wanted.write ? spec.writeEntries : spec.readEntries) - slow.queued(wanted.write);
        if (room <= 0) continue;
        slow.enter(wanted, rig.clock.at(clock));
        fitting.push(wanted);
      }
      rig.at(clock, fitting);
    }
    slow.step(clock);
  }
  rig.run(clocks - 1);
  expect(faultsOf(rig.probe.log, spec.timing).slice(0, 3)).toEqual([]);
  const parting = rig.probe.log.findIndex((entry, i) => String(entry) !== String(slow.log[i]));
  expect(rig.probe.log.slice(parting, parting + 3)).toEqual(parting < 0 ? [] : slow.log.slice(parting, parting + 3));
  expect(rig.probe.log.length).toBe(slow.log.length);
  expect(rig.served).toEqual(slow.served);
  expect(rig.coveredBy.map(String).toSorted()).toEqual(slow.coveredBy.map(String).toSorted());
  return rig;
}

const BUSY: Traffic = { per100: 30, together: 3, writeShare: 0.4, rows: 4, columns: 8 };
const REFRESH: Partial<DdrSpec> = { refresh: { mode: 'all_bank', postpone: 0 } };

/** [title, grade, change of the memory, traffic] */
const CASES: [string, string, Partial<DdrSpec>, Traffic][] = [
  ['open pages', 'DDR3-1600K-x16', {}, BUSY],
  ['refresh and a cap', 'DDR3-1333H-x8', { ...REFRESH, capPs: 500_000 }, { ...BUSY, pause: 3_000 }],
  ['bank groups and QoS', 'DDR4-2400R-x16', { ...REFRESH, capPs: 400_000 }, { ...BUSY, qos: 4 }],
  ['two ranks', 'DDR4-3200AA-x8', { ...REFRESH, ranks: 2, capPs: 500_000 }, { ...BUSY, rows: 2 }],
  ['light traffic', 'DDR4-2133P-x8', REFRESH, { ...BUSY, per100: 3, together: 1 }],
  ['activates first', 'DDR3-1866M-x16', { activateFirst: true }, { ...BUSY, rows: 50 }],
  ['closed pages', 'DDR3-1066G-x8', { page: { policy: 'closed', idlePs: 0 }, ...REFRESH }, BUSY],
  ['time-outs', 'DDR2-800D-x16', { page: { policy: 'timeout', idlePs: 90_000 }, ...REFRESH }, { ...BUSY, per100: 6 }],
  ['commands of four clocks', 'LPDDR4-3200-x16ch', { ...REFRESH, capPs: 800_000 }, { ...BUSY, per100: 10 }],
  ['per-bank refresh', 'LPDDR4X-4266-x16ch', { refresh: { mode: 'per_bank', postpone: 0 } }, { ...BUSY, per100: 8 }],
  ['per-bank refresh postponed', 'LPDDR4-3200-x16ch', { refresh: { mode: 'per_bank', postpone: 1 } }, BUSY],
  ['refresh postponed', 'DDR3-1600K-x8', { refresh: { mode: 'all_bank', postpone: 3 } }, { ...BUSY, pause: 4_000 }],
  ['in order', 'DDR3-1600K-x8', { scheduler: 'in_order', ...REFRESH }, { ...BUSY, per100: 8 }],
  ['in order with a cap', 'DDR4-2400T-x8', { scheduler: 'in_order', lookahead: 3, capPs: 300_000 }, BUSY],
  ['reads over queued writes', 'DDR3-1333H-x16', {}, { ...BUSY, rows: 1, columns: 2, partial: 0.5, per100: 6 }],
  ['the same in order', 'DDR3-1333H-x16', { scheduler: 'in_order' }, { ...BUSY, rows: 1, columns: 2, partial: 0.5 }],
  ['small queues', 'DDR4-2666V-x16', { readEntries: 4, writeEntries: 4, highMark: 3, lowMark: 1, capPs: 1e5 }, BUSY],
  ['an overload with a short cap', 'DDR3-1066F-x16', { capPs: 200_000, ...REFRESH }, { ...BUSY, per100: 90, rows: 99 }],
];

export interface Run {
  readonly clocks: number;
  readonly tREFIps: number;
  readonly firstRefreshPs: number;
}

/** Titles of the cases, each with a run of it that fails where the two part; it answers how many accesses were served. */
export const SCHEDULER_CASES: readonly [string, (run: Run) => number][] = CASES.map(
  ([title, grade, change, traffic]) => [
    `${title} (${grade})`,
    ({ clocks, tREFIps, firstRefreshPs }) => {
      const timing = { ...timingOfGrade(grade), tREFIps };
      return compare(ddrSpec(timing, change), traffic, clocks, grade, firstRefreshPs).served.length;
    },
  ],
);
