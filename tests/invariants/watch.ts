import type { Sink } from '../../src/model/route.js';
import { Recorder } from '../../src/measure/recorder.js';
import type { Element } from '../../src/model/element.js';
import type { ForwardQueue } from '../../src/model/forward-queue.js';
import type { Access } from '../../src/model/dram/access.js';
import { DdrController } from '../../src/model/dram/controller.js';
import { Port } from '../../src/model/port.js';
import type { RequestTable } from '../../src/model/request-table.js';
import type { Simulation } from '../../src/model/simulation.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { type BurstRecord, fill, type Link, newRecord } from './burst-record.js';
import { settingsTo } from '../measure/recorder-settings.js';

/** A stay of a burst in a queue: from the sender's send until its place is given back. */
export interface Visit {
  readonly record: BurstRecord;
  readonly hop: number;
  readonly queue: ForwardQueue;
  readonly element: Element;
  readonly fromPs: number;
  toPs: number;
  /** From when on the sender sees the place free. */
  freePs: number;
}

export interface Wanted {
  readonly master: number;
  readonly write: boolean;
  readonly bytes: number;
  readonly wantedPs: number;
  /** When the model said so. */
  readonly saidPs: number;
}

/** A beat of read data, or a write's response, on its way from the first element to the master. */
export interface Delivery {
  readonly record: BurstRecord;
  readonly beat: number;
  readonly last: boolean;
  readonly timePs: number;
}

/** A column access in a DRAM channel. */
export interface ColumnAccess {
  readonly memory: number;
  readonly channel: number;
  readonly write: boolean;
  readonly bank: number;
  readonly row: number;
  readonly column: number;
  readonly low: number;
  readonly high: number;
  readonly age: number;
  readonly record: BurstRecord;
  /** When it took its place, when it was in the queue, and when it gave its place back. */
  readonly cutPs: number;
  readonly enteredPs: number;
  servedPs: number;
  /** Clock of its column command, or of its answer from the write queue. */
  clock: number;
  covered: boolean;
}

/** A command of the log of a DRAM channel; see `Probe.command`. */
export interface Commanded {
  readonly memory: number;
  readonly channel: number;
  readonly rank: number;
  readonly group: number;
  readonly bank: number;
  readonly row: number;
  readonly kind: number;
  readonly clock: number;
}

/** A burst beyond a port: from its grant until its last beat has left the port on the way back. */
export interface Flight {
  readonly port: Port;
  readonly record: BurstRecord;
  readonly fromPs: number;
  toPs: number;
}

/**
 * A recorder that also writes down, beside the model's own books, all that the invariants speak of. What no probe tells it
 * gets by stepping in at the model's seams: the queues, the ways out of the system, the places in the memory controllers.
 */
export class Watch extends Recorder {
  readonly records: BurstRecord[] = [];
  readonly visits: Visit[] = [];
  readonly wanted: Wanted[] = [];
  readonly lostRequests: Wanted[] = [];
  readonly requestsDone: Wanted[] = [];
  readonly deliveries: Delivery[] = [];
  readonly accesses: ColumnAccess[] = [];
  readonly commands: Commanded[] = [];
  readonly flights: Flight[] = [];
  readonly moves: {
    readonly master: number;
    readonly write: boolean;
    readonly bytes: number;
    readonly timePs: number;
    readonly first: number;
  }[] = [];
  /** Lookups of caches by what they met. */
  readonly lookups: {
    readonly element: number;
    readonly cache: number;
    readonly master: number;
    readonly hit: boolean;
  }[] = [];

  private watched: Simulation | null = null;
  /** By slot: the burst in it. */
  private readonly live: BurstRecord[] = [];

  constructor(
    private readonly system: SystemSpec,
    fromPs: number,
    toPs: number,
  ) {
    // a timeline that ends with a shorter window as a rule
    super(system, settingsTo(toPs, 'blame', { fromPs, batched: true, timelinePs: Math.ceil((toPs - fromPs) / 9) }));
  }

  protected override get followsAll(): boolean {
    return true;
  }

  override watch(simulation: Simulation): void {
    super.watch(simulation);
    this.watched = simulation;
    this.stepIntoBursts(simulation);
    for (const element of simulation.model.elements) {
      for (const queue of element.queues()) this.stepIntoQueue(queue, element);
      if (element instanceof Port) this.stepIntoPort(element);
      if (element instanceof DdrController) this.stepIntoMemory(element);
    }
    for (const master of simulation.model.masters) {
      for (const side of [master.reads, master.writes]) this.stepIntoSink(side);
    }
  }

  /** Bytes that a direction of a master has wanted and not yet got, as the recorder has it. */
  wantedBy(master: number, write: boolean): number {
    return this.paths[2 * master + (write ? 1 : 0)]?.backlog.bytes ?? 0;
  }

  override requestWanted(master: number, write: boolean, requests: RequestTable, request: number): void {
    super.requestWanted(master, write, requests, request);
    const [bytes, wantedPs] = [requests.bytes[request]!, requests.wantedAt[request]!];
    this.wanted.push({ master, write, bytes, wantedPs, saidPs: this.now });
  }

  override requestDropped(master: number, write: boolean, bytes: number, wantedPs: number): void {
    super.requestDropped(master, write, bytes, wantedPs);
    this.lostRequests.push({ master, write, bytes, wantedPs, saidPs: this.now });
  }

  override requestCompleted(master: number, write: boolean, requests: RequestTable, request: number): void {
    super.requestCompleted(master, write, requests, request);
    const [bytes, wantedPs] = [requests.bytes[request]!, requests.wantedAt[request]!];
    this.requestsDone.push({ master, write, bytes, wantedPs, saidPs: this.now });
  }

  override lost(slot: number): void {
    super.lost(slot);
    this.live[slot]!.lost = true;
  }

  override offered(slot: number): void {
    super.offered(slot);
    this.live[slot]!.offered++;
  }

  override accepted(slot: number): void {
    super.accepted(slot);
    this.live[slot]!.accepted++;
  }

  override completed(slot: number): void {
    super.completed(slot);
    this.live[slot]!.completed++;
    this.live[slot]!.journey = this.journeyOf(slot);
  }

  override moved(master: number, write: boolean, bytes: number, timePs: number, first: number): void {
    super.moved(master, write, bytes, timePs, first);
    this.moves.push({ master, write, bytes, timePs, first });
  }

  override command(
    memory: number,
    channel: number,
    rank: number,
    group: number,
    bank: number,
    row: number,
    kind: number,
    clock: number,
  ): void {
    this.commands.push({ memory, channel, rank, group, bank, row, kind, clock });
  }

  override lookup(element: number, cache: number, master: number, _line: number, hit: boolean): void {
    this.lookups.push({ element, cache, master, hit });
  }

  private journeyOf(slot: number): Link[] {
    const chain = this.chains!.of(slot);
    return Array.from({ length: chain.count }, (_, link) => ({
      part: chain.partOf(link),
      culprit: chain.culpritOf(link),
      element: chain.elementOf(link),
      untilPs: chain.untilOf(link),
    }));
  }

  private get now(): number {
    return this.watched!.context.calendar.now;
  }

  private stepIntoBursts({ context: { bursts } }: Simulation): void {
    const allocate = bursts.allocate.bind(bursts);
    const settle = bursts.settle.bind(bursts);
    bursts.allocate = (route) => {
      const slot = allocate(route);
      this.live[slot] = newRecord(this.records.length, route);
      this.records.push(this.live[slot]);
      return slot;
    };
    bursts.settle = (slot, what) => {
      const record = this.live[slot]!;
      const core = this.system.masters[bursts.master[slot]!]?.core ?? null;
      record.core = core !== null && record.route.refill >= 0 && bursts.number[slot]! >= 0;
      if ((bursts.pending[slot]! & ~what) === 0) fill(record, bursts, slot);
      return settle(slot, what);
    };
  }

  private stepIntoQueue(queue: ForwardQueue, element: Element): void {
    const { bursts } = this.watched!.context;
    const inside: Visit[] = [];
    const popped: Visit[] = [];
    const push = queue.push.bind(queue);
    const pop = queue.pop.bind(queue);
    const release = queue.release.bind(queue);
    queue.push = (slot) => {
      const hop = bursts.hop[slot]!;
      const visit = {
        record: this.live[slot]!,
        hop,
        queue,
        element,
        fromPs: this.now,
        toPs: Infinity,
        freePs: Infinity,
      };
      inside.push(visit);
      this.visits.push(visit);
      push(slot);
    };
    queue.pop = () => {
      popped.push(inside.shift()!);
      return pop();
    };
    queue.release = (timePs) => {
      const visit = popped.shift()!;
      visit.toPs = this.now;
      visit.freePs = timePs;
      release(timePs);
    };
  }

  private stepIntoPort(port: Port): void {
    const flying = new Map<BurstRecord, Flight>();
    const answered = new Set<BurstRecord>();
    const passed = port.passed.bind(port);
    const left = port.left.bind(port);
    port.passed = (slot) => {
      const record = this.live[slot]!;
      const flight = { port, record, fromPs: this.now, toPs: answered.has(record) ? this.now : Infinity };
      this.flights.push(flight);
      flying.set(flight.record, flight);
      passed(slot);
    };
    port.left = (slot, lane) => {
      const record = this.live[slot]!;
      const flight = flying.get(record);
      // what a port answers itself may be answered before it goes on
      if (flight === undefined) answered.add(record);
      else flight.toPs = lane.freeAt;
      left(slot, lane);
    };
  }

  private stepIntoSink(side: Sink): void {
    const receive = side.receive.bind(side);
    side.receive = (slot, first, end, last, edge) => {
      const record = this.live[slot]!;
      const { clock } = this.watched!.context.bursts.routes[slot]!.hops[0]!;
      for (let beat = first; beat < end; beat++) {
        this.deliveries.push({ record, beat, last: last && beat === end - 1, timePs: clock.at(edge + beat - first) });
      }
      receive(slot, first, end, last, edge);
    };
  }

  private stepIntoMemory(memory: DdrController): void {
    const inside = new Map<Access, ColumnAccess>();
    for (const channel of memory.dram) {
      const enter = channel.enter.bind(channel);
      channel.enter = (access) => {
        const { number } = channel;
        const one: ColumnAccess = {
          memory: memory.base.index,
          channel: number,
          write: access.direction === 1,
          bank: access.bank.index,
          row: access.row,
          column: access.column,
          low: access.low,
          high: access.high,
          age: access.age,
          record: this.live[access.burst]!,
          cutPs: this.now,
          enteredPs: access.enteredAt,
          servedPs: Infinity,
          clock: Infinity,
          covered: false,
        };
        inside.set(access, one);
        this.accesses.push(one);
        enter(access);
      };
    }
    const served = memory.served.bind(memory);
    const covered = memory.covered.bind(memory);
    const gone = (access: Access, clock: number, isCovered: boolean): void => {
      const one = inside.get(access)!;
      inside.delete(access);
      one.servedPs = this.now;
      one.clock = clock;
      one.covered = isCovered;
    };
    memory.served = (channel, access, clock) => {
      gone(access, clock, false);
      served(channel, access, clock);
    };
    memory.covered = (channel, access, clock) => {
      gone(access, clock, true);
      covered(channel, access, clock);
    };
  }
}
