import { Clock } from '../../src/engine/clock.js';
import type { MasterSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { CoherenceUnit } from '../../src/model/coherence/coherence-unit.js';
import { DdrController } from '../../src/model/dram/controller.js';
import type { Hop } from '../../src/model/route.js';
import type { BurstRecord } from './burst-record.js';
import type { Invariant } from './invariant.js';
import type { Observation } from './observation.js';
import type { Watch } from './watch.js';

/** 6. No resource is busy more than 100 %; no route carries more than the peak of its narrowest element. */
export const capacity: Invariant = {
  number: 6,
  name: 'capacity',
  states: 'no resource is busy more than all of the time, and no route carries more than its narrowest element can',
  *breaches({ observation }) {
    yield* resources(observation);
    yield* channels(observation);
    yield* lanes(observation);
    yield* routes(observation);
  },
};

function* resources({ result, simulation }: Observation): Iterable<string> {
  const { lengthPs } = simulation.context.window;
  for (const { element, busyPs, servers, stallPs } of result.elements) {
    if (busyPs > lengthPs * servers) yield `${element} is busy for ${busyPs} of ${lengthPs * servers}`;
    if (stallPs > lengthPs) yield `${element} is stalled for ${stallPs} of ${lengthPs}`;
  }
  for (const element of simulation.model.elements) {
    for (const { name, busy, stalled } of element.channels()) {
      if (busy.totalPs > lengthPs) yield `${element.base.name} / ${name} is busy for ${busy.totalPs} of ${lengthPs}`;
      if ((stalled?.totalPs ?? 0) > lengthPs) yield `${element.base.name} / ${name} is stalled for ${stalled!.totalPs}`;
    }
    if (!(element instanceof CoherenceUnit)) continue;
    for (const count of element.counts.used()) {
      const { lookups, hits, misses, merged } = count[1];
      if (lookups !== hits + misses + merged)
        yield `${element.base.name} counts ${lookups} lookups, ${hits}+${misses}+${merged}`;
    }
  }
}

function* channels({ result, simulation }: Observation): Iterable<string> {
  const { lengthPs } = simulation.context.window;
  for (const {
    memory,
    channel,
    readBytes,
    writeBytes,
    peakBytesPerS,
    refreshPs,
    turnaroundPs,
    beats,
    wastedBeats,
  } of result.channels) {
    const name = `${memory} channel ${channel}`;
    const memoryElement = simulation.model.elements.find((element) => element.base.name === memory);
    const beatBytes = memoryElement instanceof DdrController ? memoryElement.timing.busBytes : 0;
    // a beat on either edge of the window may stand half in it
    const most = (peakBytesPerS * lengthPs) / 1e12 + 2 * beatBytes;
    if (readBytes + writeBytes > most) yield `${name} moves ${readBytes + writeBytes} bytes, ${most} are its peak`;
    if (refreshPs > lengthPs) yield `${name} refreshes for ${refreshPs} of ${lengthPs}`;
    if (turnaroundPs > lengthPs) yield `${name} turns round for ${turnaroundPs} of ${lengthPs}`;
    if (wastedBeats > beats) yield `${name} wastes ${wastedBeats} beats of ${beats}`;
  }
}

/** Edges of a clock up to and including an instant. */
const edgesUpTo = (clock: Clock, timePs: number): number => clock.indexFrom(timePs + 1);

interface Arrival {
  /** Within which the beat left the lane: after the first instant, and no later than the second. */
  readonly afterPs: number;
  readonly byPs: number;
}

/**
 * Each lane sends a beat a cycle: between any two arrivals beyond it lie at least as many of its edges as beats. Of what
 * arrives in another clock it is known between which instants it left.
 */
function* lanes({ watch, simulation }: Observation): Iterable<string> {
  const arrivals = new Map<unknown, { clock: Clock; cycles: number; name: string; list: Arrival[] }>();
  const add = (key: unknown, from: Hop, to: Hop, sync: number, name: string, times: readonly number[]): void => {
    let lane = arrivals.get(key);
    if (lane === undefined) arrivals.set(key, (lane = { clock: from.clock, cycles: 0, name, list: [] }));
    for (const timePs of times) lane.list.push(crossedBack(from.clock, to.clock, sync, timePs));
  };
  const nameOf = (hop: Hop): string => simulation.model.elements[hop.element]!.base.name;
  for (const record of watch.records) {
    const { hops } = record.route;
    if (record.beats.length === 0 || record.core) continue;
    for (let hop = 0; hop < hops.length - 1; hop++) {
      const [near, far] = [hops[hop]!, hops[hop + 1]!];
      const [from, to] = record.write ? [near, far] : [far, near];
      const times = beatsSent(record, record.write ? hop : hop + 1, record.write ? hop + 1 : hop);
      // what goes out leaves by an output, what comes back by the lane of an input
      const key = record.write ? `${from.element} ${from.output}` : from.readLane;
      add(key, from, to, record.write ? to.syncIn : to.syncBack, `${nameOf(from)} to ${nameOf(to)}`, times);
    }
  }
  for (const { clock, name, list } of arrivals.values()) yield* crowding(clock, name, list);
}

/** When the beats that are known to have left `from` one by one arrived at `to`. */
function beatsSent(record: BurstRecord, from: number, to: number): number[] {
  const { hops } = record.route;
  const times = record.beats[to]!.filter((timePs) => timePs < Infinity);
  // a wide beat that is cut arrives in parts at one instant; of narrow ones that are joined the last one's arrival is known
  return hops[from]!.beatBytes > hops[to]!.beatBytes ? [...new Set(times)] : times;
}

function crossedBack(from: Clock, to: Clock, sync: number, timePs: number): Arrival {
  if (from === to) return { afterPs: timePs - 1, byPs: timePs };
  const edge = to.indexFrom(timePs) - sync;
  return { afterPs: edge > 0 ? to.at(edge - 1) : -1, byPs: to.at(edge) };
}

function* crowding(clock: Clock, name: string, list: Arrival[]): Iterable<string> {
  list.sort((a, b) => a.byPs - b.byPs);
  // beats i to j all left after the first instant of i: j − i + 1 of them need as many edges up to the last of j
  let least = Infinity;
  for (const [i, { afterPs, byPs }] of list.entries()) {
    least = Math.min(least, i - edgesUpTo(clock, afterPs));
    const spare = edgesUpTo(clock, byPs) - (i + 1) + least;
    if (spare < 0) {
      yield `${name}: ${-spare} beats too many have left by ${byPs}`;
      return;
    }
  }
}

/**
 * What moved between a master and its port inside the window passed every element of the route inside it too, but for what
 * was on its way when the window began.
 */
function* routes({ watch, simulation, system }: Observation): Iterable<string> {
  const { fromPs, toPs } = simulation.context.window;
  for (const [index, master] of system.masters.entries()) {
    for (const write of [false, true]) {
      const own = watch.records.filter(
        (one) => one.master === index && one.number >= 0 && one.write === write && !one.lost,
      );
      const route = own.find(({ core, beats }) => !core && beats.length > 0)?.route;
      if (route === undefined || route.immediate) continue;
      const moves = watch.moves.filter((move) => move.master === index && move.write === write);
      if (!write) yield* pace(system, master, moves);
      const moved = moves.reduce((sum, { bytes }) => sum + bytes, 0);
      const before = own
        .filter(({ acceptedAt, doneAt }) => acceptedAt < fromPs && doneAt > fromPs)
        .reduce((sum, { bytes }) => sum + bytes, 0);
      // a write is counted by the beats of its first element: one may have begun before the window
      const pending = before + (write ? route.hops[0]!.beatBytes : 0);
      const limit = peakOf(system, master, fromPs, toPs) + pending;
      if (moved > limit) yield `${master.name} moves ${moved} bytes in the window, it can take ${limit}`;
      for (const { clock, beatBytes, element } of route.hops) {
        // writes move between master and port before they reach the elements behind it
        if (write) continue;
        const most = (edgesUpTo(clock, toPs - 1) - edgesUpTo(clock, fromPs - 1)) * beatBytes + before;
        const { name, kind } = simulation.model.elements[element]!.base;
        // servers and banks side by side answer at once
        if (kind === 'device') continue;
        if (moved > most) yield `${master.name} moves ${moved} bytes in the window, ${name} can carry ${most}`;
      }
      const asked = own.reduce((sum, { bytes }) => sum + bytes, 0);
      const within = own.every(({ acceptedAt, doneAt }) => acceptedAt >= fromPs && doneAt < toPs);
      if (moved > asked || (within && moved !== asked))
        yield `${master.name} moves ${moved} bytes, it asked for ${asked}`;
    }
  }
}

/** What is told of as moved was a beat a cycle of the master: the next begins when those of the one before have passed. */
function* pace({ clocks }: SystemSpec, master: MasterSpec, moves: Watch['moves']): Iterable<string> {
  if (master.clock === null || master.core !== null) return;
  const clock = clockOf(clocks, master.clock);
  let free = 0;
  for (const { bytes, timePs } of moves) {
    const edge = clock.indexFrom(timePs);
    if (edge < free) yield `${master.name} takes ${bytes} bytes at ${timePs}, while others come in`;
    free = edge + Math.ceil(bytes / master.widthBytes);
  }
}

/** Bytes that a master itself can take, or give, between two instants. */
function peakOf({ clocks }: SystemSpec, { clock: name, widthBytes }: MasterSpec, fromPs: number, toPs: number): number {
  if (name === null) return Infinity;
  const clock = clockOf(clocks, name);
  return (edgesUpTo(clock, toPs - 1) - edgesUpTo(clock, fromPs - 1)) * widthBytes;
}

export function clockOf(clocks: SystemSpec['clocks'], name: string): Clock {
  const { numerator, denominator } = clocks.get(name)!;
  return new Clock(name, numerator, denominator);
}
