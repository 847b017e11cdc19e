import { Command } from '../../../src/model/dram/command.js';
import type { DdrSpec, DramTimingSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec, Rig, type Wanted } from './rig.js';

// DDR3-1600K, x16 (JEDEC DDR3 table, grade file): CL 11, CWL 8, RCD 11, RP 11, RAS 28, RC 39, RRD 6, FAW 32, CCD 4,
// RTP 6, WR 12; read to write 9, write to read 18, write to precharge 24; RFC 208, REFI 7.8 µs = 6240 clocks
export const DDR3 = timingOfGrade('DDR3-1600K-x16');
// DDR4-2400R, x16: RCD 16, RP 16, RAS 39, RC 55, RRD_S 7, RRD_L 8, FAW 36, CCD 4 / 6, WTR gaps 19 / 25
export const DDR4 = timingOfGrade('DDR4-2400R-x16');

export const read = (bank: number, row: number, column = 0): Wanted => ({ write: false, bank, row, column });
export const write = (bank: number, row: number, column = 0): Wanted => ({ write: true, bank, row, column });

const NAMES = new Map(Object.entries(Command).map(([name, kind]) => [kind as number, name]));

/** What a channel does with accesses that arrive together at clock 0: `clock name bank` of every command. */
export function trace(timing: DramTimingSpec, wanted: Wanted[], change: Partial<DdrSpec> = {}): string[] {
  const rig = new Rig(ddrSpec(timing, change));
  rig.at(0, wanted);
  rig.run(2000);
  return commands(rig);
}

/** The command log of a rig in that form. */
export function commands(rig: Rig): string[] {
  return rig.probe.log.map(([clock, kind, rank, bank]) => {
    return `${clock} ${NAMES.get(kind)} ${rank > 0 ? `${rank}/` : ''}${bank}`;
  });
}

/** Clocks of all commands of a kind. */
export function clocksOf(rig: Rig, kind: number): number[] {
  return rig.probe.log.filter((entry) => entry[1] === kind).map(([clock]) => clock);
}
