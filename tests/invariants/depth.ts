import type { PortSpec } from '../../src/scenario/scenario.js';
import { DdrController } from '../../src/model/dram/controller.js';
import type { Invariant } from './invariant.js';
import type { Observation } from './observation.js';
import type { ForwardQueue } from '../../src/model/forward-queue.js';
import type { Flight, Visit } from './watch.js';

/** 5, of what is finite: no queue holds more than its depth, and no limit of a master, a port or a memory is passed. */
export const depth: Invariant = {
  number: 5,
  name: 'depth',
  states: 'no queue exceeds its depth, and nothing passes a stated limit',
  *breaches({ observation }) {
    yield* queues(observation);
    yield* masters(observation);
    yield* ports(observation);
    yield* memories(observation);
  },
};

interface Span {
  readonly fromPs: number;
  readonly toPs: number;
  readonly amount: number;
}

/** The most that was held at one instant, where what ends in an instant is gone before what begins in it. */
function mostHeld(spans: readonly Span[]): number {
  const changes = spans.flatMap(({ fromPs, toPs, amount }) => [
    { atPs: fromPs, by: amount },
    { atPs: toPs, by: -amount },
  ]);
  changes.sort((a, b) => a.atPs - b.atPs || a.by - b.by);
  let held = 0;
  let most = 0;
  for (const { by } of changes) {
    held += by;
    if (held > most) most = held;
  }
  return most;
}

function* queues({ watch }: Observation): Iterable<string> {
  const visits = new Map<ForwardQueue, Visit[]>();
  for (const visit of watch.visits) {
    const list = visits.get(visit.queue);
    if (list === undefined) visits.set(visit.queue, [visit]);
    else list.push(visit);
  }
  for (const [queue, stays] of visits) {
    const { base } = stays[0]!.element;
    for (const { record, toPs, freePs } of stays) {
      // two decisions of one instant must not see each other
      if (freePs >= base.clock.after(toPs, 1) || record.route.immediate) continue;
      yield `${base.name}: a place given up at ${toPs} is seen to be free at ${freePs}, before the next edge`;
    }
    const most = mostHeld(stays.map(({ fromPs, freePs }) => ({ fromPs, toPs: freePs, amount: 1 })));
    if (most > queue.depth) yield `${base.name}: a queue of ${queue.depth} held ${most}`;
  }
}

function* masters({ watch, system }: Observation): Iterable<string> {
  for (const [index, master] of system.masters.entries()) {
    if (master.core !== null) continue;
    for (const write of [false, true]) {
      const limit = write ? master.maxWrites : master.maxReads;
      const flying = watch.records
        .filter((record) => record.master === index && record.number >= 0 && record.write === write && !record.lost)
        .map(({ acceptedAt, doneAt }) => ({ fromPs: acceptedAt, toPs: doneAt, amount: 1 }));
      const most = mostHeld(flying);
      if (most > limit) yield `${master.name}: ${most} ${write ? 'writes' : 'reads'} in flight, ${limit} may be`;
    }
  }
}

function* ports({ watch, system }: Observation): Iterable<string> {
  for (const spec of system.elements) {
    if (spec.kind !== 'port') continue;
    const flights = watch.flights.filter(({ port }) => port.base.name === spec.name);
    const reads = flights.filter(({ record }) => !record.write);
    // of writes that the port answers itself it never learns when they are there
    const writes = flights.filter(({ record }) => record.write && spec.writeResponse === 'final');
    const count = (list: readonly Flight[]): number => mostHeld(list.map((flight) => ({ ...flight, amount: 1 })));
    const space = mostHeld(
      reads.map((flight) => ({ ...flight, amount: Math.min(flight.record.bytes, spec.returnSpaceBytes) })),
    );
    if (count(reads) > spec.maxReads) yield `${spec.name}: ${count(reads)} reads in flight, ${spec.maxReads} may be`;
    if (count(writes) > spec.maxWrites)
      yield `${spec.name}: ${count(writes)} writes in flight, ${spec.maxWrites} may be`;
    const both = count([...reads, ...writes]);
    if (both > spec.inFlight) yield `${spec.name}: ${both} in flight, ${spec.inFlight} may be`;
    if (space > spec.returnSpaceBytes)
      yield `${spec.name}: ${space} bytes may come back, it has ${spec.returnSpaceBytes}`;
    yield* regulated(spec, reads);
    yield* regulated(
      spec,
      flights.filter(({ record }) => record.write),
    );
  }
}

/** A burst passes when the bucket holds its bytes, or is full; the bucket fills at the rate up to its depth. */
function* regulated({ name, regulator }: PortSpec, flights: readonly Flight[]): Iterable<string> {
  if (regulator === null) return;
  const { bytesPerS, depthBytes } = regulator;
  let held = depthBytes;
  let sincePs = 0;
  for (const { record, fromPs } of flights) {
    held = Math.min(depthBytes, held + ((fromPs - sincePs) * bytesPerS) / 1e12);
    sincePs = fromPs;
    // rounding to picoseconds lets a burst go no more than one too soon
    const needed = Math.min(record.bytes, depthBytes) - (2 * bytesPerS) / 1e12;
    if (held < needed) yield `${name}: a burst of ${record.bytes} bytes passes at ${fromPs} with ${held} in the bucket`;
    held -= record.bytes;
  }
}

function* memories({ watch, system, simulation }: Observation): Iterable<string> {
  for (const element of simulation.model.elements) {
    if (!(element instanceof DdrController)) continue;
    const { index, name } = element.base;
    const spec = system.elements.find((one) => one.name === name)!;
    if (spec.kind !== 'ddr') continue;
    for (const { number } of element.dram) {
      for (const write of [false, true]) {
        const total = write ? spec.writeEntries : spec.readEntries;
        const held = watch.accesses
          .filter((one) => one.memory === index && one.channel === number && one.write === write)
          // a place that is freed at an instant can be taken only after it
          .map(({ cutPs, servedPs }) => ({ fromPs: cutPs, toPs: servedPs + 0.5, amount: 1 }));
        const most = mostHeld(held);
        if (most > total)
          yield `${name} channel ${number}: ${most} ${write ? 'writes' : 'reads'} queued, ${total} may be`;
      }
    }
  }
}
