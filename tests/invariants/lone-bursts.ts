import { type IdleAccess, unloadedAccess } from '../../src/model/coherence/unloaded.js';
import { unloadedRead, unloadedWrite, type Unloaded } from '../../src/model/unloaded.js';
import { pathOf } from '../../src/scenario/paths.js';
import type { CoherenceSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { idleCorePath, idlePath, type IdleCorePath, type IdleState } from '../../src/study/idle-path.js';
import { diaryOf, type LoneBurst } from './diary.js';
import { type Alone, alone, Touched } from './idle-system.js';

/** A burst of a lone master beside what the closed form says of it. */
export interface Compared {
  readonly burst: LoneBurst;
  /** U at its own instant, address and recorded states. */
  readonly u: Unloaded;
  /** What its lookup met: its own cache, the shared one or none. */
  readonly lookup: 'own' | 'hit' | 'miss' | 'owned' | 'shared';
  /** Rows that it found open, closed or both; empty where it met no DRAM. */
  readonly rows: string;
  /** Rows of banks that it touched, each as often as it was opened. */
  readonly opened: number;
  /** Lines that it touched in a coherence unit; 0 where it met none. */
  readonly lines: number;
}

/** What was found of one master alone. */
export interface LoneRun {
  /** All bursts, those included that nothing can be said of. */
  readonly bursts: readonly LoneBurst[];
  readonly compared: readonly Compared[];
}

/**
 * Runs one master alone on a system and works out U for each of its bursts that was one burst in flight (a request that was
 * cut is not) and whose lines all met the same.
 */
export function loneRun(system: SystemSpec, settings: Alone, durationPs: number): LoneRun {
  const lone = alone(system, settings);
  const diary = diaryOf(lone, durationPs);
  const master = lone.masters.find(({ name }) => name === settings.name)!;
  const end = pathOf(lone, master)!.at(-1)!;
  const touched = end.way === 'lookup' ? new Touched(end.element as CoherenceSpec, master) : null;
  const compared: Compared[] = [];
  for (const burst of diary.bursts) {
    const { address, bytes, wantedPs, latencyPs, serviceDraw } = burst;
    const lookups = touched === null ? 'miss' : touched.met(burst);
    const hitsOwn = master.core !== null && touched?.inCore(address) === true;
    touched?.add(burst);
    if (lookups === null || bytes !== settings.bytes) continue;
    const seen = new Set<string>();
    const rows = (channel: number, bank: number): number => {
      const row = diary.openRow(channel, bank, wantedPs);
      seen.add(row < 0 ? 'closed' : 'open');
      return row;
    };
    const state: IdleState = { rows, lookups, serviceDraw };
    const u =
      touched !== null && master.core !== null
        ? unloadedCore(
            idleCorePath(lone, master, state),
            hitsOwn ? 'hit' : settings.write ? 'fetch_alone' : 'fetch',
            address,
            wantedPs,
          )
        : (settings.write ? unloadedWrite : unloadedRead)(
            idlePath(lone, master, settings.write, state),
            address,
            bytes,
            wantedPs,
          );
    compared.push({
      burst,
      u,
      lookup: hitsOwn ? 'own' : lookups,
      rows: [...seen].toSorted().join(' '),
      opened: diary.rows(wantedPs, wantedPs + latencyPs),
      lines: touched?.count(burst) ?? 0,
    });
  }
  return { bursts: diary.bursts, compared };
}

const unloadedCore = ({ core, unit }: IdleCorePath, access: IdleAccess, address: number, wantedPs: number): Unloaded =>
  unloadedAccess(core, unit, access, address, wantedPs);
