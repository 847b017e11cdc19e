import { uses } from '../measure/path-facts.js';
import type { Unloaded } from '../model/unloaded.js';
import { unloadedRead, unloadedWrite } from '../model/unloaded.js';
import { pathOf } from '../scenario/paths.js';
import type { MasterSpec, SystemSpec } from '../scenario/scenario.js';
import { BurstCutter } from '../traffic/burst-cutter.js';
import { idlePath, type IdleState } from './idle-path.js';
import { type ChannelLoad, isOverloaded, loadOf } from './offered-load.js';

/** The unloaded latency of one path under one assumption about what it meets. */
export interface IdleCase {
  /** What is assumed, such as `rows hit` or `lookup missed, rows in conflict`; empty where nothing need be. */
  readonly assumes: string;
  /** For a burst wanted at edge 0 of its master's clock. */
  readonly atEdgeZero: Unloaded;
  /** Over the phases of the clocks. */
  readonly minPs: number;
  readonly maxPs: number;
}

export interface PathCheck {
  readonly master: string;
  readonly operation: 'read' | 'write';
  readonly route: readonly string[];
  readonly bytes: number;
  readonly cases: readonly IdleCase[];
}

/** What can be said of a system without simulating it. */
export interface CheckReport {
  readonly placement: string;
  readonly paths: readonly PathCheck[];
  readonly loads: readonly ChannelLoad[];
  readonly warnings: readonly string[];
}

/** Instants tried for the minimum and maximum over clock phases: so many edges of the master's clock. */
const PHASES = 64;
/** Load above which an element is warned about even though it is not overloaded. */
const TIGHT = 0.9;

/** The closed-form account of one placement. */
export function checkSystem(system: SystemSpec): CheckReport {
  const { channels } = loadOf(system);
  return {
    placement: system.placement,
    paths: system.masters.flatMap((master) => pathChecks(system, master)),
    loads: channels.toSorted((a, b) => share(b) - share(a)),
    warnings: [...loadWarnings(channels), ...earlyWarnings(system)],
  };
}

const share = (load: ChannelLoad): number => load.offeredBytesPerS / load.capacityBytesPerS;

function pathChecks(system: SystemSpec, master: MasterSpec): PathCheck[] {
  const { reads, writes } = uses(master);
  const operations = [...(reads ? (['read'] as const) : []), ...(writes ? (['write'] as const) : [])];
  // a core with a private cache fetches whole lines; what a fetch costs is told by the unit's own tests
  const steps = pathOf(system, master)!;
  const cached = master.core !== null && steps.at(-1)!.way === 'lookup';
  return operations
    .filter((operation) => !cached || operation === 'read')
    .map((operation) => pathCheck(system, master, operation));
}

function pathCheck(system: SystemSpec, master: MasterSpec, operation: 'read' | 'write'): PathCheck {
  const steps = pathOf(system, master)!;
  const buffer = system.buffers.find((candidate) => candidate.name === master.buffer)!;
  const bytes = firstBurst(system, master, buffer.baseBytes);
  const cases = statesOf(system, master).map(({ assumes, state }) => {
    const path = idlePath(system, master, operation === 'write', state);
    const unloaded = operation === 'write' ? unloadedWrite : unloadedRead;
    const totals = Array.from({ length: PHASES }, (_, k) => {
      return unloaded(path, buffer.baseBytes, bytes, path.master.clock.at(k)).totalPs;
    });
    return {
      assumes: operation === 'write' && !lookedUp(system, master) ? '' : assumes,
      atEdgeZero: unloaded(path, buffer.baseBytes, bytes, 0),
      minPs: Math.min(...totals),
      maxPs: Math.max(...totals),
    };
  });
  const route = steps.map(({ element, way }) => (way === 'bypass' ? `${element.name} (past the tags)` : element.name));
  // a write is answered from the queue: the state of the rows does not matter to it
  const distinct = cases.filter((one, i) => cases.findIndex((other) => other.assumes === one.assumes) === i);
  return { master: master.name, operation, route, bytes, cases: distinct };
}

function firstBurst(system: SystemSpec, master: MasterSpec, base: number): number {
  const unit = system.elements.find((element) => element.name === master.attach);
  if (master.core !== null && unit?.kind === 'coherence') return unit.lineBytes;
  const cutter = new BurstCutter(master.widthBytes, master.burstBeats);
  cutter.start(base, master.size.kind === 'fixed' ? master.size.value : master.burstBeats * master.widthBytes);
  cutter.next();
  return cutter.bytes;
}

const lookedUp = (system: SystemSpec, master: MasterSpec): boolean => pathOf(system, master)!.at(-1)!.way === 'lookup';

/** The assumptions that make a difference on a path. */
function statesOf(system: SystemSpec, master: MasterSpec): { assumes: string; state: IdleState }[] {
  const memory = system.buffers.find((buffer) => buffer.name === master.buffer)!.memory;
  const rowsMatter = system.elements.find((element) => element.name === memory)?.kind === 'ddr';
  const rowStates = rowsMatter ? (['hit', 'empty', 'conflict'] as const) : (['hit'] as const);
  const rowWords = { hit: 'rows hit', empty: 'rows closed', conflict: 'rows in conflict' };
  const miss = rowStates.map((rows) => ({ rows, words: rowsMatter ? rowWords[rows] : '' }));
  if (!lookedUp(system, master)) {
    return miss.map(({ rows, words }) => ({ assumes: words, state: { rows, lookups: 'miss', serviceDraw: 0.5 } }));
  }
  return [
    { assumes: 'lookup hit', state: { rows: 'hit', lookups: 'hit', serviceDraw: 0.5 } },
    ...miss.map(({ rows, words }) => ({
      assumes: words === '' ? 'lookup missed' : `lookup missed, ${words}`,
      state: { rows, lookups: 'miss' as const, serviceDraw: 0.5 },
    })),
  ];
}

function loadWarnings(channels: readonly ChannelLoad[]): string[] {
  return channels
    .filter((load) => share(load) > TIGHT)
    .map((load) => {
      const percent = Math.round(100 * share(load));
      const users = load.users.map(({ master }) => master).join(', ');
      const end = isOverloaded(load) ? 'its queues will grow without end' : 'expect long queues';
      return `${load.element} (${load.channel}) is asked for ${percent} % of what it can carry, by ${users}: ${end}`;
    });
}

function earlyWarnings(system: SystemSpec): string[] {
  return system.elements
    .filter((element) => 'writeResponse' in element && element.writeResponse === 'early')
    .map(
      (element) =>
        `${element.name} answers writes before the memory has them: a wake-up that relies on the answer may overtake the data`,
    );
}
