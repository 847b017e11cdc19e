import { pathOf, refillPath } from '../../src/scenario/paths.js';
import { uses } from '../../src/measure/path-facts.js';
import type { CoherenceSpec, MasterSpec, PatternSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { burstOf, withBuffer } from './idle-system.js';
import type { Invariant } from './invariant.js';
import { loneRun } from './lone-bursts.js';

const THINK_PS = 60_000_000;
const BURSTS = 8;

/**
 * 8. With one burst in flight and every timer expired, each burst has latency U at its own instant and recorded states, to
 * the picosecond. Every master of the platform is taken alone in turn, in each direction that it uses; refresh is off.
 */
export const unloaded: Invariant = {
  number: 8,
  name: 'unloaded',
  states: 'a burst that is alone takes the unloaded latency, to the picosecond',
  *breaches({ system }) {
    for (const master of system.masters) {
      const { reads, writes } = uses(master);
      if (reads) yield* lone(system, master, false);
      if (writes) yield* lone(system, master, true);
    }
  },
};

function* lone(system: SystemSpec, master: MasterSpec, write: boolean): Iterable<string> {
  const buffer = system.buffers.find(({ name }) => name === master.buffer)!;
  // stores that are merged go out when the core likes
  if (write && master.core !== null && buffer.cached === 'combine') return;
  const end = pathOf(system, master)!.at(-1)!;
  const unit = end.way === 'lookup' ? (end.element as CoherenceSpec) : null;
  const bytes = master.core === null || unit === null ? burstOf(master) : 4;
  const anywhere: PatternSpec = { pattern: 'random', alignBytes: master.core === null ? 1 : 4 };
  // as much as fits into every cache on the way, so that no line is ever pushed out
  const small = withBuffer(
    system,
    master.name,
    Math.min(2048, unit?.l2.bytes ?? Infinity, master.core?.l1.bytes ?? Infinity),
  );
  for (const [where, pattern] of [
    [small, null],
    [unit === null ? system : small, anywhere],
  ] as const) {
    const settings = { name: master.name, write, pattern, bytes: Math.min(bytes, 2048), thinkPs: THINK_PS };
    for (const hitRatio of unit?.model === 'statistical' ? [0, 1] : [master.hitRatio]) {
      const drawn = { ...where, masters: where.masters.map((one) => ({ ...one, hitRatio })) };
      const { compared } = loneRun(drawn, settings, 2 * BURSTS * THINK_PS);
      for (const { burst, u, lookup, rows, opened, lines } of compared) {
        if (waitsForItself(system, unit, buffer.memory, lines)) continue;
        const what = `${write ? 'a write' : 'a read'} of ${burst.bytes} bytes at ${burst.address} by ${master.name}`;
        const found = `${what}, wanted at ${burst.wantedPs}, lookup ${lookup}, rows ${rows}`;
        if (burst.latencyPs !== u.totalPs) yield `${found}: ${burst.latencyPs} ps, U is ${u.totalPs}`;
        // several lines are bursts of their own, of which the later wait for the earlier, and so do rows
        if (
          lines > 1 ||
          opened > 1 ||
          fillsQueue(system, buffer.memory, write, Math.max(burst.bytes, unit?.lineBytes ?? 0))
        )
          continue;
        const edges = burst.edgesPs + (lines === 0 ? 0 : refillEdges(drawn, unit!, buffer.memory));
        if (burst.waitedPs > edges) yield `${found}: it is said to have waited ${burst.waitedPs} ps, of edges ${edges}`;
      }
    }
  }
}

/**
 * A burst whose lines miss is as many bursts beyond the unit. U follows them as long as nothing makes one wait for another:
 * miss entries, write-back slots, places in the queues on the way, or two memory channels that answer at once.
 */
function waitsForItself(system: SystemSpec, unit: CoherenceSpec | null, memory: string, lines: number): boolean {
  if (unit === null || lines < 2) return false;
  const others = requestersOf(system, unit) - 1;
  if (lines > Math.min(unit.missEntries - others * unit.minMissEntries, unit.writebackSlots)) return true;
  return refillPath(system, unit, memory)!.some(
    ({ element }) => lines > element.queueDepth || (element.kind === 'ddr' && element.channels > 1),
  );
}

/** Is it cut into more accesses than the memory has places for, so that the later ones wait for the earlier? */
function fillsQueue({ elements }: SystemSpec, name: string, write: boolean, bytes: number): boolean {
  const memory = elements.find((element) => element.name === name)!;
  if (memory.kind !== 'ddr') return false;
  const { busBytes, burstLength } = memory.timing;
  const accesses = Math.ceil(bytes / (busBytes * burstLength)) + 1;
  // a write to a line may be a fetch of it first
  return accesses > Math.min(memory.readEntries, write ? memory.writeEntries : Infinity);
}

/** An edge at each element between a unit and a memory. */
function refillEdges(system: SystemSpec, unit: CoherenceSpec, memory: string): number {
  return refillPath(system, unit, memory)!.reduce((sum, { element }) => {
    const clock = element.clock === null ? undefined : system.clocks.get(element.clock);
    return clock === undefined ? sum : sum + clock.numerator / clock.denominator;
  }, 0);
}

function requestersOf({ elements, masters }: SystemSpec, { name }: CoherenceSpec): number {
  const linked = elements.filter((element) => 'to' in element && element.to.includes(name)).length;
  return linked + masters.filter(({ attach }) => attach === name).length;
}
