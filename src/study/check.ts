import type { Clock } from '../engine/clock.js';
import { commonMultiple } from '../engine/common-multiple.js';
import { uses } from '../measure/path-facts.js';
import { type IdleAccess, unloadedAccess } from '../model/coherence/unloaded.js';
import type { Unloaded } from '../model/unloaded.js';
import { unloadedRead, unloadedWrite } from '../model/unloaded.js';
import { pathOf, refillPath } from '../scenario/paths.js';
import type { ElementSpec, MasterSpec, SystemSpec } from '../scenario/scenario.js';
import { BurstCutter } from '../traffic/burst-cutter.js';
import { idleCorePath, idlePath, type IdleState } from './idle-path.js';
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

/** Instants tried for the minimum and maximum over clock phases: at most so many edges of the master's clock. */
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
  return operations.map((operation) => pathCheck(system, master, operation));
}

function pathCheck(system: SystemSpec, master: MasterSpec, operation: 'read' | 'write'): PathCheck {
  const steps = pathOf(system, master)!;
  const buffer = system.buffers.find((candidate) => candidate.name === master.buffer)!;
  const bytes = firstBurst(master, buffer.baseBytes);
  const cases = statesOf(system, master, operation).map((assumed): IdleCase => {
    const { clock, at } = latencyOf(system, master, operation, assumed);
    const atEdges = Array.from({ length: phasesOf(system, master, clock) }, (_, k) =>
      at(buffer.baseBytes, bytes, clock.at(k)),
    );
    const totals = atEdges.map(({ totalPs }) => totalPs);
    return {
      assumes: assumed.assumes,
      atEdgeZero: atEdges[0]!,
      minPs: Math.min(...totals),
      maxPs: Math.max(...totals),
    };
  });
  const route = steps.map(({ element, way }) => (way === 'bypass' ? `${element.name} (past the tags)` : element.name));
  return { master: master.name, operation, route, bytes, cases };
}

/** Edges of a master's clock until all clocks on its way stand to each other as at first: what follows is a repetition. */
function phasesOf(system: SystemSpec, master: MasterSpec, { numerator, denominator }: Clock): number {
  const turns = elementsOf(system, master).flatMap((element) => {
    const own = element.clock === null ? [] : [system.clocks.get(element.clock)!.numerator];
    return element.kind === 'ddr' ? [...own, element.timing.tckNumerator] : own;
  });
  const together = commonMultiple([numerator, ...turns], Number.MAX_SAFE_INTEGER);
  return Math.min(PHASES, (together / numerator) * denominator);
}

/** The elements that a master's bursts may meet, what lies behind a cache included. */
function elementsOf(system: SystemSpec, master: MasterSpec): ElementSpec[] {
  const { memory } = system.buffers.find((buffer) => buffer.name === master.buffer)!;
  return pathOf(system, master)!.flatMap(({ element, way }) => {
    if (element.kind !== 'coherence' || way === 'bypass') return [element];
    return [element, ...refillPath(system, element, memory)!.map((step) => step.element)];
  });
}

/** U of one path, and the clock of its master. */
interface Latency {
  readonly clock: Clock;
  readonly at: (address: number, bytes: number, wantedPs: number) => Unloaded;
}

/** U of a path under one assumption; a core with a private cache runs accesses within a line, others send bursts. */
function latencyOf(system: SystemSpec, master: MasterSpec, operation: 'read' | 'write', assumed: Assumed): Latency {
  const { state, access } = assumed;
  if (access !== null) {
    const { core, unit } = idleCorePath(system, master, state);
    return {
      clock: core.clock,
      at: (address, _bytes, wantedPs) => unloadedAccess(core, unit, access, address, wantedPs),
    };
  }
  const path = idlePath(system, master, operation === 'write', state);
  const unloaded = operation === 'write' ? unloadedWrite : unloadedRead;
  return { clock: path.master.clock, at: (address, bytes, wantedPs) => unloaded(path, address, bytes, wantedPs) };
}

function firstBurst(master: MasterSpec, base: number): number {
  const cutter = new BurstCutter(master.widthBytes, master.burstBeats);
  cutter.start(base, master.size.kind === 'fixed' ? master.size.value : master.burstBeats * master.widthBytes);
  cutter.next();
  return cutter.bytes;
}

const lookedUp = (system: SystemSpec, master: MasterSpec): boolean => pathOf(system, master)!.at(-1)!.way === 'lookup';

/** An assumption that makes a difference on a path. */
interface Assumed {
  readonly assumes: string;
  readonly state: IdleState;
  /** What an access of a core with a private cache meets there; null for any other path. */
  readonly access: IdleAccess | null;
}

const ROW_WORDS = { hit: 'rows hit', empty: 'rows closed', conflict: 'rows in conflict' };

/** The assumptions that make a difference on a path. */
function statesOf(system: SystemSpec, master: MasterSpec, operation: 'read' | 'write'): Assumed[] {
  const memory = system.buffers.find((buffer) => buffer.name === master.buffer)!.memory;
  const looks = lookedUp(system, master);
  // a write that no lookup holds up is answered from the queue: the state of the rows does not matter to it
  const asksRows = looks || operation === 'read';
  const rowsMatter = asksRows && system.elements.find((element) => element.name === memory)?.kind === 'ddr';
  const rowStates = rowsMatter ? (['hit', 'empty', 'conflict'] as const) : (['hit'] as const);
  const access = looks && master.core !== null ? 'fetch' : null;
  const assumed = (assumes: string, rows: 'hit' | 'empty' | 'conflict', lookups: 'hit' | 'miss'): Assumed => ({
    assumes,
    state: { rows, lookups, serviceDraw: 0.5 },
    access,
  });
  const miss = rowStates.map((rows) => {
    const words = [...(looks ? ['lookup missed'] : []), ...(rowsMatter ? [ROW_WORDS[rows]] : [])];
    return assumed(words.join(', '), rows, 'miss');
  });
  if (!looks) return miss;
  const hits = [assumed('lookup hit', 'hit', 'hit'), ...miss];
  return access === null ? hits : [{ ...assumed('own cache hit', 'hit', 'hit'), access: 'hit' }, ...hits];
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
