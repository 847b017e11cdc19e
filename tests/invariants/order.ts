import { type BurstRecord, nameOf } from './burst-record.js';
import type { Invariant } from './invariant.js';
import type { Observation } from './observation.js';
import type { ColumnAccess, Delivery } from './watch.js';

const BOUNDARY = 4096;
/** The longest burst of AXI4. */
const MOST_BEATS = 256;

/** 5. Responses of one ID are in order, and no burst crosses 4 KiB or is longer than it may be. */
export const order: Invariant = {
  number: 5,
  name: 'order',
  states: 'responses of one ID are in order, bursts are legal, and memory keeps the order that it is asked to keep',
  *breaches({ observation }) {
    yield* legalBursts(observation);
    yield* responses(observation);
    yield* streams(observation);
    yield* columns(observation);
  },
};

function* legalBursts({ watch, system }: Observation): Iterable<string> {
  for (const record of watch.records) {
    if (record.number < 0) continue;
    const { address, bytes } = record;
    const name = nameOf(record, system.masters);
    const master = system.masters[record.master]!;
    const buffer = system.buffers.find((one) => one.name === master.buffer)!;
    if (bytes < 1) yield `${name} has ${bytes} bytes`;
    const last = address + bytes - 1;
    if (Math.floor(address / BOUNDARY) !== Math.floor(last / BOUNDARY)) yield `${name} crosses 4 KiB`;
    if (address < buffer.baseBytes || last >= buffer.baseBytes + buffer.bytes) yield `${name} leaves its buffer`;
    // an access of a core is no burst of its data port
    if (record.core) continue;
    const beats = Math.floor(last / master.widthBytes) - Math.floor(address / master.widthBytes) + 1;
    if (beats > Math.min(master.burstBeats, MOST_BEATS)) yield `${name} has ${beats} beats`;
  }
}

/**
 * Per master, direction and ID: a burst is answered whole before the next is, its beats in order of address; and no two
 * answers of one lane leave in one instant.
 */
function* responses({ watch, system }: Observation): Iterable<string> {
  const lastOf = new Map<string, Delivery>();
  const laneAt = new Map<unknown, number>();
  for (const delivery of watch.deliveries) {
    const { record, beat, timePs, last } = delivery;
    if (record.core || record.route.immediate) continue;
    const name = nameOf(record, system.masters);
    const first = record.route.hops[0]!;
    const lane = record.write ? first.writeLane : first.readLane;
    if (timePs <= (laneAt.get(lane) ?? -1)) yield `${name}: beat ${beat} leaves at ${timePs}, not after the one before`;
    laneAt.set(lane, timePs);
    const stream = `${record.master} ${record.write} ${record.id}`;
    const before = lastOf.get(stream);
    lastOf.set(stream, delivery);
    yield* following(before, delivery, name);
    if (last && !record.write && beat !== record.beats[0]!.length - 1) yield `${name} ends with beat ${beat}`;
  }
}

function* following(before: Delivery | undefined, { record, beat }: Delivery, name: string): Iterable<string> {
  if (before === undefined) {
    const first = record.number === record.id || record.route.lossy;
    if (!first || beat !== 0) yield `${name}: beat ${beat} is the first of its ID`;
  } else if (before.record === record) {
    if (beat !== before.beat + 1) yield `${name}: beat ${beat} follows beat ${before.beat}`;
  } else {
    if (!before.last) yield `${name}: is answered before ${before.record.number} is whole`;
    if (record.number <= before.record.number) yield `${name}: is answered after ${before.record.number}`;
    if (beat !== 0) yield `${name}: begins with beat ${beat}`;
  }
}

/** On every lane back, not the last alone: a burst is whole before another of its master and ID begins. */
function* streams({ watch, system }: Observation): Iterable<string> {
  const lanes = new Map<unknown, Map<string, { first: number; last: number; record: BurstRecord }[]>>();
  for (const record of watch.records) {
    if (record.write || record.core || record.number < 0) continue;
    for (const [hop, beats] of record.beats.slice(0, -1).entries()) {
      const lane = record.route.hops[hop + 1]!.readLane;
      const byStream = lanes.get(lane) ?? new Map<string, { first: number; last: number; record: BurstRecord }[]>();
      lanes.set(lane, byStream);
      const stream = `${record.master} ${record.id}`;
      const list = byStream.get(stream) ?? [];
      byStream.set(stream, list);
      list.push({ first: Math.min(...beats), last: Math.max(...beats), record });
    }
  }
  for (const list of [...lanes.values()].flatMap((byStream) => [...byStream.values()])) {
    list.sort((a, b) => a.first - b.first || a.last - b.last);
    for (const [i, { last, record }] of list.entries()) {
      const next = list[i + 1];
      // in a slower clock the last beat of one and the first of the next may be there at once
      if (next === undefined || next.first >= last) continue;
      const names = `${nameOf(record, system.masters)} and ${nameOf(next.record, system.masters)}`;
      yield `${names}, of one ID, come one between the other's beats: until ${last}, from ${next.first}`;
    }
  }
}

/** The order of column accesses, where the memory or the master asks for one, and past writes to the same bytes. */
function* columns({ watch, system, simulation }: Observation): Iterable<string> {
  const memories = new Map(
    system.elements.flatMap((spec) => (spec.kind === 'ddr' ? [[spec.name, spec] as const] : [])),
  );
  const places = new Map<string, ColumnAccess[]>();
  const streams = new Map<string, ColumnAccess[]>();
  const queues = new Map<string, ColumnAccess[]>();
  const add = (map: Map<string, ColumnAccess[]>, key: string, access: ColumnAccess): void => {
    const list = map.get(key);
    if (list === undefined) map.set(key, [access]);
    else list.push(access);
  };
  for (const access of watch.accesses) {
    const { memory, channel, bank, row, column, record } = access;
    const spec = memories.get(simulation.model.elements[memory]!.base.name)!;
    add(places, `${memory} ${channel} ${bank} ${row} ${column}`, access);
    if (spec.scheduler === 'in_order' && !access.covered) add(queues, `${memory} ${channel}`, access);
    const kept = record.number >= 0 && system.masters[record.master]!.sameIdOrder === 'memory';
    if (kept) add(streams, `${memory} ${record.master} ${access.write} ${record.id}`, access);
  }
  for (const list of queues.values()) yield* inOrderOfEntry(list, 'in_order');
  for (const list of streams.values()) yield* inOrderOfEntry(list, 'same_id_order');
  for (const list of places.values()) yield* afterWrites(list);
}

function* inOrderOfEntry(accesses: readonly ColumnAccess[], rule: string): Iterable<string> {
  const entered = accesses.toSorted((a, b) => a.age - b.age);
  for (const [i, one] of entered.entries()) {
    const before = entered[i - 1];
    if (before !== undefined && one.servedPs < before.servedPs) {
      yield `${rule}: the access of burst ${one.record.serial} is served at ${one.servedPs}, before one that entered before it, at ${before.servedPs}`;
    }
  }
}

/** A read is answered with what was written before it: after that write is in the array, or out of the queue. */
function* afterWrites(accesses: readonly ColumnAccess[]): Iterable<string> {
  const writes = accesses.filter(({ write }) => write);
  if (writes.length === 0) return;
  for (const read of accesses) {
    if (read.write) continue;
    const waiting = writes.filter(
      (write) =>
        write.low < read.high && read.low < write.high && write.enteredPs < read.enteredPs && write.clock > read.clock,
    );
    if (read.covered) {
      const whole = writes.some(
        (write) => write.low <= read.low && write.high >= read.high && write.enteredPs <= read.enteredPs,
      );
      if (!whole) yield `${overtaken(read)} is answered from a queue that does not hold it`;
    } else if (waiting.length > 0) {
      yield `${overtaken(read)} goes at clock ${read.clock}, before a write to the same bytes at ${waiting[0]!.clock}`;
    }
  }
}

const overtaken = ({ record, bank, row }: ColumnAccess & { record: BurstRecord }): string =>
  `the read of burst ${record.serial} in bank ${bank}, row ${row}`;
