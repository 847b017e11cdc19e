import { Command } from '../../../src/model/dram/command.js';
import type { Issued } from './legality.js';
import type { GradeTimes } from './rule-times.js';

/** How well a log keeps the cells of a channel refreshed. */
export interface RefreshRecord {
  /** Longest time between two refreshes of the same rank, or of the same bank where banks are refreshed alone. */
  readonly longestPs: number;
  /** Most that any refresh was behind its turn, one every tREFI from the first due date on. */
  readonly latestPs: number;
  /** Fewest refreshes of a rank (or bank) in any window that the log holds whole; Infinity without one. */
  readonly fewest: number;
  /** Refreshes of each rank (or bank), in order. */
  readonly counts: readonly number[];
}

/** What a refresh record is taken of. */
export interface RefreshPlan {
  readonly perBank: boolean;
  /** By rank: when the first refresh is due. */
  readonly phasesPs: readonly number[];
  readonly windowPs: number;
}

/** Reads the refreshes out of a log. */
export function refreshRecord(log: readonly Issued[], times: GradeTimes, plan: RefreshPlan): RefreshRecord {
  const { banks, tckPs, tREFIps } = times;
  const { perBank, phasesPs, windowPs } = plan;
  const clocks = new Map<string, number[]>();
  for (const { kind, rank, bank, clock } of log) {
    if (kind !== (perBank ? Command.refreshBank : Command.refresh)) continue;
    const unit = `${rank}/${perBank ? bank : 0}`;
    if (!clocks.has(unit)) clocks.set(unit, []);
    clocks.get(unit)!.push(clock * tckPs);
  }
  const units = [...clocks].map(([unit, at]) => {
    const [rank, bank] = unit.split('/').map(Number);
    const firstPs = phasesPs[rank!]! + (bank! * tREFIps) / banks;
    return {
      longestPs: Math.max(0, ...at.slice(1).map((ps, i) => ps - at[i]!)),
      latestPs: Math.max(...at.map((ps, i) => ps - firstPs - i * tREFIps)),
      fewest: fewestIn(at, windowPs),
      count: at.length,
    };
  });
  return {
    longestPs: Math.max(...units.map(({ longestPs }) => longestPs)),
    latestPs: Math.max(...units.map(({ latestPs }) => latestPs)),
    fewest: Math.min(...units.map(({ fewest }) => fewest)),
    counts: units.map(({ count }) => count),
  };
}

/** The emptiest windows begin right after an event; those that reach past the last one are not known. */
function fewestIn(at: readonly number[], windowPs: number): number {
  let fewest = Infinity;
  let end = 0;
  for (const [i, from] of at.entries()) {
    while (end < at.length && at[end]! <= from + windowPs) end++;
    if (end === at.length) return fewest;
    fewest = Math.min(fewest, end - i - 1);
  }
  return fewest;
}
