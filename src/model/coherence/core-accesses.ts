// Hot path: every access of a core passes here. Records are pooled; nothing is allocated per access.
import type { Clock } from '../../engine/clock.js';
import type { MasterSpec } from '../../scenario/scenario.js';
import { READ, WRITE } from '../bursts.js';
import type { Context } from '../context.js';
import { OpenRequests, type Unfinished } from '../open-requests.js';
import { RequestTable } from '../request-table.js';
import type { Route } from '../route.js';
import type { AccessSource } from './access-source.js';
import { CoreSide, type SideHost } from './core-side.js';

/** A task's request is done. */
export const ASKED = -2;

/**
 * The books of a core on a cached buffer: the requests that wait, the one that is being cut into pieces of a line each,
 * the record of each piece from its lookup to its end, and the counts of both directions.
 */
export class CoreAccesses {
  readonly reads: CoreSide;
  readonly writes: CoreSide;
  /** The request that is being cut (−1: none), and its next byte and end, within the memory. */
  current = -1;
  nextByte = 0;
  /** The current request's direction. */
  store = false;

  private readonly requests = new RequestTable();
  /** By request: 1 for stores. */
  private readonly stores: number[] = [];
  private endByte = 0;
  private begun = 0;
  /** Pieces taken from the current request; pieces so far that the core wanted itself. */
  private cut = 0;
  private own = 0;

  constructor(
    private readonly context: Context,
    private readonly spec: MasterSpec,
    private readonly place: { readonly index: number; readonly clock: Clock; readonly baseAddress: number },
    private readonly lineBytes: number,
    host: SideHost,
  ) {
    this.reads = new CoreSide(context, place.clock, false, host);
    this.writes = new CoreSide(context, place.clock, true, host);
  }

  /** Requests that wait to be begun. */
  get backlog(): number {
    return this.requests.backlog;
  }

  /** The source wants its next request at `wantedPs`; `busy`: a source that drops what it cannot begin loses it. */
  want(source: AccessSource, wantedPs: number, busy: boolean): void {
    const { requests, context, place } = this;
    const { write, bytes } = source;
    if (busy && this.spec.whenFull === 'drop') {
      context.probe.requestDropped(place.index, write, bytes, wantedPs);
      source.advance();
      return;
    }
    const request = requests.append();
    requests.wantedAt[request] = wantedPs;
    requests.offset[request] = place.baseAddress + source.offset;
    requests.bytes[request] = bytes;
    requests.thinkPs[request] = source.thinkPs;
    this.count(request, write, wantedPs);
    context.probe.requestWanted(place.index, write, requests, request);
    source.advance();
  }

  /** A task wants an access now, at an address within the memory. */
  ask(write: boolean, address: number, bytes: number, ask: number, drawKey: number): void {
    const { requests, context, place } = this;
    const { now } = context.calendar;
    const request = requests.append();
    requests.wantedAt[request] = now;
    requests.offset[request] = address;
    requests.bytes[request] = bytes;
    requests.thinkPs[request] = 0;
    requests.ask[request] = ask;
    requests.drawKey[request] = drawKey;
    this.count(request, write, now);
    context.probe.requestWanted(place.index, write, requests, request);
  }

  private count(request: number, write: boolean, wantedPs: number): void {
    const { context } = this;
    const bytes = this.requests.bytes[request]!;
    this.stores[request] = write ? 1 : 0;
    const side = write ? this.writes : this.reads;
    side.backlogMeter.change(wantedPs, bytes);
    if (!context.window.holds(wantedPs)) return;
    side.wantedBytes += bytes;
    context.tally.counted++;
  }

  /** Begins to cut the oldest request that waits; answers when it was wanted. */
  shift(): number {
    const { requests } = this;
    const request = requests.shift();
    this.current = request;
    this.cut = 0;
    this.store = this.stores[request] === 1;
    this.nextByte = requests.offset[request]!;
    this.endByte = this.nextByte + requests.bytes[request]!;
    return requests.wantedAt[request]!;
  }

  /** The first piece of the current request is looked up from `timePs` on. */
  tellBegun(timePs: number): void {
    const ask = this.requests.ask[this.current]!;
    if (ask >= 0) this.context.tasks!.begun(ask, timePs);
  }

  /** Takes the next piece off the current request at `timePs`; answers its record, whose `offeredAt` is not set. */
  take(timePs: number, route: Route): number {
    const { requests, context, current } = this;
    const { bursts, tally } = context;
    const side = this.store ? this.writes : this.reads;
    const slot = bursts.allocate(route);
    const end = Math.min((Math.floor(this.nextByte / this.lineBytes) + 1) * this.lineBytes, this.endByte);
    bursts.op[slot] = this.store ? WRITE : READ;
    bursts.master[slot] = this.place.index;
    bursts.number[slot] = this.begun++;
    const asked = requests.ask[current]! >= 0;
    bursts.draw[slot] = asked ? requests.drawKey[current]! : this.own++;
    bursts.part[slot] = asked ? this.cut : 0;
    this.cut++;
    bursts.id[slot] = 0;
    bursts.qos[slot] = this.spec.qos;
    bursts.address[slot] = this.nextByte;
    bursts.bytes[slot] = end - this.nextByte;
    bursts.request[slot] = current;
    bursts.wantedAt[slot] = requests.wantedAt[current]!;
    bursts.counted[slot] = context.window.holds(requests.wantedAt[current]!) ? 1 : 0;
    // below zero: it was never presented to the unit, unless it turns out to be a fetch
    bursts.offeredAt[slot] = -1;
    bursts.acceptedAt[slot] = -1;
    // the end of its lookup
    bursts.usableAt[slot] = timePs;
    bursts.pending[slot] = 1;
    requests.flying[current]!++;
    side.backlogMeter.change(timePs, -bursts.bytes[slot]!);
    side.issued++;
    side.outstanding++;
    tally.issuedBursts++;
    this.nextByte = end;
    if (end === this.endByte) {
      requests.close(current);
      this.current = -1;
    }
    return slot;
  }

  /**
   * A piece is done at `timePs`. Answers the think time of its request if that is done with it, `ASKED` if it was a task's,
   * else −1.
   */
  complete(slot: number, timePs: number): number {
    const { context, requests, place } = this;
    const { bursts, probe, tally, window } = context;
    const write = bursts.op[slot] === WRITE;
    const side = write ? this.writes : this.reads;
    bursts.doneAt[slot] = timePs;
    if (window.holds(timePs)) {
      side.movedBytes += bursts.bytes[slot]!;
      probe.moved(place.index, write, bursts.bytes[slot]!, timePs, bursts.bytes[slot]!);
    }
    side.outstanding--;
    tally.completedBursts++;
    probe.completed(slot);
    const request = bursts.request[slot]!;
    bursts.settle(slot, 1);
    if (!requests.landed(request)) return -1;
    if (window.holds(requests.wantedAt[request]!)) tally.counted--;
    probe.requestCompleted(place.index, write, requests, request);
    const thinkPs = requests.thinkPs[request]!;
    const ask = requests.ask[request]!;
    requests.release(request);
    if (ask < 0) return thinkPs;
    context.tasks!.done(ask, timePs);
    return ASKED;
  }

  /** What of one direction was wanted inside the window and is not done: in flight, or still to be begun. */
  unfinished(write: boolean): Unfinished {
    const { requests, context, place } = this;
    const { bursts } = context;
    const open = new OpenRequests(requests, context.window);
    const add = (request: number, pieces: number): void => {
      if (this.stores[request] === (write ? 1 : 0)) open.add(request, pieces);
    };
    for (const [slot, route] of bursts.routes.entries()) {
      if (route === null || bursts.master[slot] !== place.index || bursts.number[slot]! < 0) continue;
      add(bursts.request[slot]!, 1);
    }
    for (const request of requests.waiting()) {
      add(request, this.pieces(requests.offset[request]!, requests.offset[request]! + requests.bytes[request]!));
    }
    if (this.current >= 0) add(this.current, this.pieces(this.nextByte, this.endByte));
    return open.unfinished();
  }

  private pieces(from: number, to: number): number {
    return Math.floor((to - 1) / this.lineBytes) - Math.floor(from / this.lineBytes) + 1;
  }
}
