import { type Clock, crossing } from '../engine/clock.js';
import { clockOf } from '../measure/clock-of.js';
import {
  type IdleCore,
  type IdleCoreUnit,
  type IdleMemory,
  IdleUnit,
  type IdleOutcome,
} from '../model/coherence/unloaded.js';
import { rememberedVisits } from '../model/dram/remembered-visits.js';
import { idleDdr, type IdleDdr, type IdleRows } from '../model/dram/unloaded.js';
import { firstAt, inBeats, lastAt, sent, type Train, whole } from '../model/train.js';
import { type IdleEnd, type IdleHop, type IdlePath, unloadedRead, unloadedWrite } from '../model/unloaded.js';
import { type LinePath, unloadedFetches, unloadedSends } from '../model/unloaded-lines.js';
import { pathOf, refillPath, type PathStep } from '../scenario/paths.js';
import type { CoherenceSpec, DdrSpec, ElementSpec, MasterSpec, OnChipSpec, SystemSpec } from '../scenario/scenario.js';
import { quantileOf } from '../traffic/distribution.js';

/** What of a master its unloaded latency depends on, and what of a system. */
export type PathMaster = Pick<
  MasterSpec,
  'attach' | 'buffer' | 'clock' | 'widthBytes' | 'syncCycles' | 'sameIdOrder' | 'core'
>;
export type PathSystem = Pick<SystemSpec, 'clocks' | 'elements' | 'buffers'>;

/** What an unloaded burst is assumed to meet. */
export interface IdleState {
  /** Rows of the DRAM banks. */
  readonly rows: IdleRows;
  /** Lookups of a coherence unit. */
  readonly lookups: IdleOutcome;
  /** The draw in [0, 1) of a device's service time. */
  readonly serviceDraw: number;
}

/**
 * The path of a master's bursts as the unloaded latency needs it. It shares the clocks' edges with the simulator, and the
 * way through the elements; how long each takes is stated here anew.
 */
export function idlePath(system: PathSystem, master: PathMaster, write: boolean, state: IdleState): IdlePath {
  const steps = pathOf(system, master);
  if (steps === undefined) throw new Error(`${master.attach}: no way leads to buffer ${master.buffer}`);
  const clock = clockOf(system, master.clock);
  const sizes = beatSizes(steps, master.widthBytes, write);
  const hops = steps.map((step, i) => idleHop(system, step, sizes[i]!));
  const inTurn = master.sameIdOrder === 'memory';
  const end = idleEnd(system, steps.at(-1)!, hops.at(-1)!, memoryOf(system, master), state, inTurn);
  return {
    master: { clock, widthBytes: master.widthBytes, syncCycles: master.syncCycles },
    hops: hops.slice(0, -1),
    end,
  };
}

/** A core whose buffer is cached and the unit beside it, as `unloadedAccess` needs them. */
export interface IdleCorePath {
  readonly core: IdleCore;
  readonly unit: IdleCoreUnit;
}

/**
 * The way of such a core's accesses, each within one line, which meet beyond its private cache what `state` says. A load
 * and a store take the same time unless copies of others must be dropped.
 */
export function idleCorePath(system: PathSystem, master: PathMaster, state: IdleState): IdleCorePath {
  const spec = pathOf(system, master)!.at(-1)!.element as CoherenceSpec;
  const clock = clockOf(system, master.clock);
  const unitClock = clockOf(system, spec.clock);
  const idle = new IdleUnit(spec, unitClock, state.lookups, refill(system, spec, memoryOf(system, master), state));
  const core = {
    clock,
    hitCycles: master.core!.hitCycles,
    syncIn: crossing(clock, unitClock, spec.syncCycles),
    syncBack: crossing(unitClock, clock, master.syncCycles),
    backwardCycles: 1,
  };
  return { core, unit: { name: spec.name, idle, clock: unitClock, lineBytes: spec.lineBytes } };
}

function memoryOf(system: PathSystem, master: PathMaster): string {
  return system.buffers.find((buffer) => buffer.name === master.buffer)!.memory;
}

function idleHop(system: PathSystem, { element, way }: PathStep, beatBytes: number): IdleHop {
  const through = element.kind === 'port' || element.kind === 'switch' ? element : null;
  const bypass = element.kind === 'coherence' && way === 'bypass' ? element : null;
  return {
    name: way === 'bypass' ? `${element.name} bypass` : element.name,
    clock: clockOf(system, element.clock),
    syncCycles: element.syncCycles,
    beatBytes,
    forwardCycles: through?.forwardCycles ?? bypass?.bypassForwardCycles ?? 0,
    backwardCycles: through?.backwardCycles ?? bypass?.bypassBackwardCycles ?? 1,
    collects: element.kind === 'port' && element.writeStart === 'whole_burst',
    early: through?.writeResponse === 'early',
  };
}

/** A beat is as wide as its element, or, where that does not pack, no wider than the one before in its direction. */
function beatSizes(steps: readonly PathStep[], sourceBytes: number, write: boolean): number[] {
  const sizes: number[] = [];
  let before = write ? sourceBytes : steps.at(-1)!.element.widthBytes;
  for (const { element } of write ? steps : steps.toReversed()) {
    const packs = element.kind === 'port' || element.kind === 'switch' ? element.pack : true;
    before = packs ? element.widthBytes : Math.min(before, element.widthBytes);
    sizes.push(before);
  }
  return write ? sizes : sizes.toReversed();
}

function idleEnd(
  system: PathSystem,
  step: PathStep,
  hop: IdleHop,
  memory: string,
  state: IdleState,
  inTurn: boolean,
): IdleEnd {
  const { element } = step;
  switch (element.kind) {
    case 'ddr':
      return { ...hop, ...visitsOf(element, hop.clock, state.rows, inTurn) };
    case 'onchip':
      return { ...hop, ...idleOnChip(element, hop) };
    case 'device': {
      const service = Math.round(quantileOf(element.service)(state.serviceDraw));
      return {
        ...hop,
        read: (address, bytes, at) => whole(address, bytes, at + service),
        write: (data) => lastAt(data) + service,
      };
    }
    case 'coherence': {
      const unit = new IdleUnit(element, hop.clock, state.lookups, refill(system, element, memory, state));
      return { ...hop, read: (a, n, at) => unit.read(a, n, at), write: (data) => unit.write(data) };
    }
    default:
      throw new Error(`${element.name}: a path cannot end at a ${element.kind}`);
  }
}

/** Visits to a DRAM; rows that are asked for may change from one visit to the next, so that nothing is remembered of them. */
function visitsOf(spec: DdrSpec, clock: Clock, rows: IdleRows, inTurn: boolean): IdleDdr {
  const visits = idleDdr(spec, clock, rows, inTurn);
  return typeof rows === 'function' ? visits : rememberedVisits(visits, spec, clock);
}

/** On-chip memory alone: beats go bank visit by bank visit, one a cycle, a write's none before it is there. */
function idleOnChip(spec: OnChipSpec, hop: IdleHop): Pick<IdleEnd, 'read' | 'readLines' | 'write'> {
  const { clock, beatBytes } = hop;
  const readLines = (ready: Train): Train => sent(inBeats(ready, beatBytes), clock, 0, spec.accessCycles);
  return {
    read: (address, bytes, at) => readLines(whole(address, bytes, at)),
    readLines,
    write(data) {
      let edge = clock.indexFrom(firstAt(data)) - 1;
      for (const { atPs } of data) edge = Math.max(edge + 1, clock.indexFrom(atPs));
      return clock.at(edge + 1);
    },
  };
}

/** The part of a miss beyond a coherence unit: fetches of whole lines from their memory, or writes that go through. */
function refill(system: PathSystem, unit: CoherenceSpec, memory: string, state: IdleState): IdleMemory {
  const steps = refillPath(system, unit, memory)!;
  const [fetching, sending] = [false, true].map((write) => linePath(system, unit, steps, memory, state, write));
  return {
    fetch: (lines) => unloadedFetches(fetching!, lines),
    send: (lines) => unloadedSends(sending!, lines),
  };
}

function linePath(
  system: PathSystem,
  unit: ElementSpec,
  steps: readonly PathStep[],
  memory: string,
  state: IdleState,
  write: boolean,
): LinePath {
  const sizes = beatSizes(steps, unit.widthBytes, write);
  const hops = steps.map((step, i) => idleHop(system, step, sizes[i]!));
  // fills and write-backs are of no master's IDs
  const end = idleEnd(system, steps.at(-1)!, hops.at(-1)!, memory, state, false);
  return { clock: clockOf(system, unit.clock), hops: hops.slice(0, -1), end };
}

export { unloadedRead, unloadedWrite, type Train };
