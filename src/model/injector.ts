import type { Actor } from '../engine/calendar.js';
import type { Carrier } from '../engine/carrier.js';
import type { Clock } from '../engine/clock.js';
import { Phase } from '../engine/phase.js';
import { READ, WRITE } from './bursts.js';
import type { Context } from './context.js';
import type { EarlySender } from './finals.js';
import type { Route, Sink } from './route.js';
import { SlotFifo } from './slot-fifo.js';

/** The element that sends bursts of its own. */
export interface InjectorOwner extends EarlySender {
  /** The data or response of a burst it sent is all in, now (phase `complete`); the slot is free once this returns. */
  childDone(slot: number): void;
}

/**
 * Sends an element's own bursts (fills, write-backs) into the fabric, through an input of unlimited depth of the crossbar
 * beside it: the element bounds them itself.
 */
export class Injector implements Actor, Sink {
  /** Bursts sent so far. */
  sent = 0;
  private readonly doneCarrier: [Carrier, Carrier];
  private readonly done = [new SlotFifo(), new SlotFifo()] as const;
  private readonly reads: Route[] = [];
  private readonly writes: Route[] = [];

  constructor(
    private readonly context: Context,
    private readonly clock: Clock,
    private owner: InjectorOwner | null = null,
  ) {
    const carrier = (op: number): Carrier => context.calendar.carrier(this, op, Phase.complete);
    this.doneCarrier = [carrier(READ), carrier(WRITE)];
  }

  setOwner(owner: InjectorOwner): void {
    this.owner = owner;
  }

  /** Adds the routes to a memory; answers its number. */
  addMemory(read: Route, write: Route): number {
    this.reads.push(read);
    this.writes.push(write);
    return this.reads.length - 1;
  }

  /**
   * Sends a burst on behalf of `master`, for line `line` of a burst that the unit serves; it can leave from `fromPs` on, which is
   * later than now. Answers its slot. Its data, if it is a write, is all there; one that is answered early is told of again
   * (`childFinal`) when memory accepts it.
   */
  send(
    memory: number,
    op: number,
    address: number,
    bytes: number,
    master: number,
    qos: number,
    line: number,
    fromPs: number,
  ): number {
    const { bursts, tally, calendar, probe } = this.context;
    const route = (op === WRITE ? this.writes : this.reads)[memory]!;
    const slot = bursts.allocate(route);
    bursts.op[slot] = op;
    bursts.master[slot] = master;
    // below zero, so that it never ties with a burst that the master numbered
    bursts.number[slot] = -1 - this.sent++;
    bursts.id[slot] = -1 - (this.sent % 0x3fffffff);
    bursts.qos[slot] = qos;
    bursts.address[slot] = address;
    bursts.bytes[slot] = bytes;
    bursts.wantedAt[slot] = calendar.now;
    bursts.offeredAt[slot] = calendar.now;
    bursts.acceptedAt[slot] = calendar.now;
    bursts.clearBeats(slot);
    bursts.usableAt[slot] = fromPs;
    if (op === WRITE) {
      const base = bursts.beatBase(slot, 0);
      bursts.beats.fill(fromPs, base, base + bursts.beatCount(slot, 0));
    }
    tally.issuedBursts++;
    probe.injected(slot, line);
    if (route.early) this.context.finals.sentBy(this.owner!, slot);
    const first = route.hops[0]!;
    (op === WRITE ? first.writes : first.reads).push(slot);
    return slot;
  }

  receive(slot: number, first: number, end: number, last: boolean, edge: number): void {
    if (!last) return;
    const { bursts, calendar } = this.context;
    const op = bursts.op[slot]!;
    const { clock } = bursts.routes[slot]!.hops[0]!;
    bursts.doneAt[slot] = this.clock.edgeFrom(clock.at(edge + end - first - 1));
    const done = this.done[op]!;
    done.push(slot);
    if (done.length === 1) calendar.arm(this.doneCarrier[op]!, bursts.doneAt[slot]!);
  }

  wake(op: number): void {
    const { bursts, calendar, probe, tally } = this.context;
    const done = this.done[op]!;
    const slot = done.shift();
    if (done.length > 0) calendar.arm(this.doneCarrier[op]!, bursts.doneAt[done.head]!);
    tally.completedBursts++;
    probe.completed(slot);
    this.owner!.childDone(slot);
    bursts.settle(slot, 1);
  }
}
