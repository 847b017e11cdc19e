import type { Clock } from '../engine/clock.js';
import { commonMultiple } from '../engine/common-multiple.js';
import { type IdleAccess, unloadedAccess } from '../model/coherence/unloaded.js';
import type { Unloaded } from '../model/unloaded.js';
import { unloadedRead, unloadedWrite } from '../model/unloaded.js';
import { pathOf, refillPath } from '../scenario/paths.js';
import type { ElementSpec } from '../scenario/scenario.js';
import { idleCorePath, idlePath, type IdleState, type PathMaster, type PathSystem } from './idle-path.js';

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

/** Instants tried for the minimum and maximum over clock phases: at most so many edges of the master's clock. */
const PHASES = 64;

/** Unloaded latencies of paths. What they depend on decides whether a path is known: placements share most of theirs. */
export class IdleCases {
  private readonly known = new Map<string, IdleCase[]>();

  /** Of bursts of so many bytes from the start of the master's buffer, under each assumption that makes a difference. */
  of(whole: PathSystem, sender: PathMaster, operation: 'read' | 'write', bytes: number): readonly IdleCase[] {
    // no more than this goes on, so that the key has all that the answer depends on
    const { clocks, elements, buffers } = whole;
    const system = { clocks, elements, buffers };
    const { attach, buffer, clock, widthBytes, syncCycles, sameIdOrder, core } = sender;
    const master = { attach, buffer, clock, widthBytes, syncCycles, sameIdOrder, core };
    const states = statesOf(system, master, operation);
    // a core's loads and stores of what it caches take the same time
    const direction = states.some(({ access }) => access !== null) ? null : operation;
    const key = textOf([system, master, states, direction, bytes]);
    let cases = this.known.get(key);
    if (cases === undefined) {
      cases = states.map((assumed) => caseOf(system, master, operation, bytes, assumed));
      this.known.set(key, cases);
    }
    return cases;
  }
}

/** Equal values, equal texts. */
const textOf = (value: unknown): string =>
  JSON.stringify(value, (_key, part: unknown) => (part instanceof Map ? [...part] : part));

function caseOf(
  system: PathSystem,
  master: PathMaster,
  operation: 'read' | 'write',
  bytes: number,
  assumed: Assumed,
): IdleCase {
  const { baseBytes } = system.buffers.find((buffer) => buffer.name === master.buffer)!;
  const { clock, at } = latencyOf(system, master, operation, assumed);
  const phases = Array.from({ length: phasesOf(system, master, clock) }, (_, k) => at(baseBytes, bytes, clock.at(k)));
  const totals = phases.map(({ totalPs }) => totalPs);
  return {
    assumes: assumed.assumes,
    atEdgeZero: phases[0]!,
    minPs: Math.min(...totals),
    maxPs: Math.max(...totals),
  };
}

/** Edges of a master's clock until all clocks on its way stand to each other as at first: what follows is a repetition. */
function phasesOf(system: PathSystem, master: PathMaster, { numerator, denominator }: Clock): number {
  const turns = elementsOf(system, master).flatMap((element) => {
    const own = element.clock === null ? [] : [system.clocks.get(element.clock)!.numerator];
    return element.kind === 'ddr' ? [...own, element.timing.tckNumerator] : own;
  });
  const together = commonMultiple([numerator, ...turns], Number.MAX_SAFE_INTEGER);
  return Math.min(PHASES, (together / numerator) * denominator);
}

/** The elements that a master's bursts may meet, what lies behind a cache included. */
function elementsOf(system: PathSystem, master: PathMaster): ElementSpec[] {
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
function latencyOf(system: PathSystem, master: PathMaster, operation: 'read' | 'write', assumed: Assumed): Latency {
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

const lookedUp = (system: PathSystem, master: PathMaster): boolean => pathOf(system, master)!.at(-1)!.way === 'lookup';

/** An assumption that makes a difference on a path. */
interface Assumed {
  readonly assumes: string;
  readonly state: IdleState;
  /** What an access of a core with a private cache meets there; null for any other path. */
  readonly access: IdleAccess | null;
}

const ROW_WORDS = { hit: 'rows hit', empty: 'rows closed', conflict: 'rows in conflict' };

/** The assumptions that make a difference on a path. */
function statesOf(system: PathSystem, master: PathMaster, operation: 'read' | 'write'): Assumed[] {
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
