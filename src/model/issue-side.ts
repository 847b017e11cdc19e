// Hot path: cuts, issues, takes back. One event per burst issued and one per burst completed; nothing is allocated.
import type { Actor } from '../engine/calendar.js';
import type { Carrier } from '../engine/carrier.js';
import { Phase } from '../engine/phase.js';
import { BurstCutter } from '../traffic/burst-cutter.js';
import { handOver } from './arrival.js';
import { BeatTaker } from './beat-taker.js';
import { Pending, READ as READ_OP, WRITE as WRITE_OP } from './bursts.js';
import type { Context } from './context.js';
import type { ForwardQueue, QueueSender } from './forward-queue.js';
import { OpenRequests, type Unfinished } from './open-requests.js';
import { RequestTable } from './request-table.js';
import type { Route, Sink } from './route.js';
import type { SideOwner, SideParams } from './side-params.js';
import { SlotFifo } from './slot-fifo.js';
import { QueueMeter } from './window.js';

const READ = READ_OP;
const WRITE = WRITE_OP;
const { response: RESPONSE, forward: FORWARD } = Pending;

const ISSUE = 0;
const DONE = 1;

/**
 * One direction of a master: requests wait in order, are cut into legal bursts, and go out one after the other as the
 * outstanding limit and the first queue allow; what comes back is taken a beat a cycle.
 */
export class IssueSide implements Actor, Sink, QueueSender {
  readonly requests = new RequestTable();
  /** Bytes wanted and not yet accepted by the port. */
  readonly backlogMeter: QueueMeter;
  /** Bursts in flight. */
  outstanding = 0;
  /** Bursts issued so far; the next burst's number. */
  issued = 0;
  /** Bytes wanted inside the window. */
  wantedBytes = 0;
  route!: Route;

  private readonly op: number;
  private readonly clocked: boolean;
  private readonly cutter: BurstCutter;
  private readonly taker: BeatTaker;
  private readonly issueCarrier: Carrier;
  private readonly doneCarrier: Carrier;
  private cutting = -1;
  /** Bursts cut from it so far; bursts so far that the master wanted itself. */
  private cut = 0;
  private own = 0;
  /** The AXI ID of the next burst: they take turns. */
  private nextId = 0;
  /** The burst that is presented at the port, or −1. */
  private presented = -1;
  private freeAt = 0;
  /** By ID: the burst issued last that is not answered yet, or −1. */
  private readonly tails: Int32Array;
  /** While a completion is dealt with: what it lets out goes with it, so that nothing has to be armed. */
  private completing = false;
  /** Bursts whose answer is on its way to the master, in the order in which it arrives. */
  private readonly done = new SlotFifo();

  constructor(
    private readonly context: Context,
    private readonly params: SideParams,
    private readonly owner: SideOwner,
  ) {
    this.op = params.write ? WRITE : READ;
    this.cutter = new BurstCutter(params.widthBytes, params.burstBeats);
    this.taker = new BeatTaker(context, params);
    this.clocked = params.clock.name !== 'none';
    this.issueCarrier = context.calendar.carrier(this, ISSUE, this.clocked ? Phase.decide : Phase.arrive);
    this.doneCarrier = context.calendar.carrier(this, DONE, Phase.complete);
    this.tails = new Int32Array(params.ids).fill(-1);
    this.backlogMeter = new QueueMeter(context.window);
  }

  /** Joins this side to the first queue of its route. */
  connect(route: Route): void {
    this.route = route;
    const first = route.hops[0]!;
    (this.params.write ? first.writes : first.reads).sender = this;
  }

  /** A request was appended to `requests` and its columns filled: it is wanted now or, by a source that runs late, earlier. */
  want(request: number): void {
    const { requests, context } = this;
    const bytes = requests.bytes[request]!;
    this.backlogMeter.change(context.calendar.now, bytes);
    if (context.window.holds(requests.wantedAt[request]!)) {
      this.wantedBytes += bytes;
      context.tally.counted++;
    }
    context.probe.requestWanted(this.params.master, this.params.write, requests, request);
    this.kickNow();
  }

  /** Bytes that moved between master and port inside the window. */
  get movedBytes(): number {
    return this.taker.movedBytes;
  }

  /** Is nothing waiting to be issued? */
  get idle(): boolean {
    return this.presented < 0 && this.cutting < 0 && this.requests.backlog === 0;
  }

  /** May one more burst go out? */
  get hasRoom(): boolean {
    return this.outstanding < this.params.outstanding;
  }

  /** Would an outstanding slot be left for one more request, once all that wait here have theirs? */
  get hasSlot(): boolean {
    const { requests } = this;
    let wanted = this.outstanding + (this.presented < 0 ? 0 : 1) + this.burstsLeft();
    for (const request of requests.waiting()) wanted += this.burstsIn(request);
    return wanted < this.params.outstanding;
  }

  makesRoom(queue: ForwardQueue): void {
    if (this.presented >= 0) this.kick(queue.freesAt);
  }

  wake(tag: number): void {
    if (tag === ISSUE) this.issue();
    else this.complete();
  }

  receive(slot: number, first: number, end: number, last: boolean, edge: number): void {
    const { bursts } = this.context;
    if (bursts.routes[slot]!.immediate) bursts.doneAt[slot] = this.params.clock.at(edge);
    else if (this.op === READ) this.taker.takeBeats(this.route.hops[0]!, slot, first, end, edge);
    else this.taker.takeResponse(this.route.hops[0]!, slot, edge);
    if (!last) return;
    const id = bursts.id[slot]!;
    if (this.tails[id] === slot) this.tails[id] = -1;
    this.done.push(slot);
    if (this.done.length === 1) this.context.calendar.arm(this.doneCarrier, bursts.doneAt[slot]!);
  }

  /** What was wanted inside the window and is not back: in flight, presented, or not yet cut. */
  unfinished(): Unfinished {
    const { requests, context, cutting } = this;
    const { bursts } = context;
    const open = new OpenRequests(requests, context.window);
    for (const [slot, route] of bursts.routes.entries()) {
      if (route?.sink === this && bursts.counted[slot] === 1) open.add(bursts.request[slot]!, 1);
    }
    for (const request of requests.waiting()) open.add(request, this.burstsIn(request));
    if (cutting >= 0) open.add(cutting, this.burstsLeft());
    return open.unfinished();
  }

  /** Bursts of a request of which none is cut yet. */
  private burstsIn(request: number): number {
    const { requests, params } = this;
    return this.burstsOf(params.baseAddress + requests.offset[request]!, requests.bytes[request]!);
  }

  /** Bursts still to be cut from the request that is being cut. */
  private burstsLeft(): number {
    const { requests, params, cutting, cutter } = this;
    if (cutting < 0) return 0;
    const end = params.baseAddress + requests.offset[cutting]! + requests.bytes[cutting]!;
    return this.burstsOf(cutter.address, end - cutter.address);
  }

  private burstsOf(address: number, bytes: number): number {
    const cutter = new BurstCutter(this.params.widthBytes, this.params.burstBeats);
    let count = 0;
    for (cutter.start(address, bytes); cutter.next();) count++;
    return count;
  }

  /** The same as `kick` from now on; apart, as a time that is passed is put on the heap. */
  private kickNow(): void {
    if (this.completing) return;
    const { now } = this.context.calendar;
    const { clock } = this.params;
    this.context.calendar.armBy(this.issueCarrier, clock.at(clock.indexFrom(now > this.freeAt ? now : this.freeAt)));
  }

  private kick(timePs: number): void {
    if (this.completing) return;
    const from = timePs > this.freeAt ? timePs : this.freeAt;
    const { clock } = this.params;
    this.context.calendar.armBy(this.issueCarrier, clock.at(clock.indexFrom(from)));
  }

  private issue(): void {
    const { calendar } = this.context;
    const immediate = this.route.immediate;
    do {
      if (calendar.now < this.freeAt) {
        this.kick(this.freeAt);
        return;
      }
      if (!this.hasRoom || !this.present()) return;
      const first = this.route.hops[0]!;
      const queue = this.params.write ? first.writes : first.reads;
      const room = queue.roomAt(calendar.now);
      if (room > calendar.now) {
        if (this.route.lossy) this.lose();
        else if (room < Infinity) this.kick(room);
        return;
      }
      this.accept();
    } while (immediate && !this.idle);
    if (!this.idle) this.kick(this.freeAt);
    this.owner.roomToIssue(this.params.write);
  }

  /** Makes sure that a burst stands at the port; false if there is none to issue. */
  private present(): boolean {
    if (this.presented >= 0) return true;
    const { requests, cutter, context } = this;
    if (this.cutting < 0) {
      if (requests.backlog === 0) return false;
      this.cutting = requests.shift();
      this.cut = 0;
      cutter.start(this.params.baseAddress + requests.offset[this.cutting]!, requests.bytes[this.cutting]!);
      cutter.next();
    }
    const { bursts } = context;
    const slot = bursts.allocate(this.route);
    const request = this.cutting;
    bursts.op[slot] = this.op;
    bursts.master[slot] = this.params.master;
    bursts.qos[slot] = this.params.qos;
    bursts.address[slot] = cutter.address;
    bursts.bytes[slot] = cutter.bytes;
    bursts.request[slot] = request;
    bursts.wantedAt[slot] = requests.wantedAt[request]!;
    bursts.counted[slot] = context.window.holds(requests.wantedAt[request]!) ? 1 : 0;
    bursts.serviceDraw[slot] = requests.serviceDraw[request]!;
    bursts.number[slot] = this.issued++;
    const asked = requests.ask[request]! >= 0;
    bursts.draw[slot] = asked ? requests.drawKey[request]! : this.own++;
    bursts.part[slot] = asked ? this.cut : 0;
    this.cut++;
    bursts.id[slot] = this.nextId;
    this.nextId = this.nextId + 1 === this.params.ids ? 0 : this.nextId + 1;
    bursts.offeredAt[slot] = context.calendar.now;
    bursts.clearBeats(slot);
    requests.flying[request]!++;
    if (!cutter.next()) {
      requests.close(request);
      this.cutting = -1;
    }
    this.presented = slot;
    context.tally.issuedBursts++;
    context.probe.offered(slot);
    return true;
  }

  private accept(): void {
    const { bursts, calendar, probe } = this.context;
    const slot = this.presented;
    this.presented = -1;
    this.outstanding++;
    bursts.acceptedAt[slot] = calendar.now;
    this.backlogMeter.change(calendar.now, -bursts.bytes[slot]!);
    probe.accepted(slot);
    if (this.route.early) this.context.finals.sent(this.params.master);
    const first = this.route.hops[0]!;
    if (this.route.immediate) {
      bursts.usableAt[slot] = calendar.now;
      bursts.beats.fill(calendar.now, bursts.beatBase(slot, 0), bursts.beatBase(slot, 0) + bursts.beatCount(slot, 0));
      if (this.op === WRITE) this.taker.moved(bursts.bytes[slot]!, calendar.now, bursts.bytes[slot]!);
    } else {
      this.keepOrder(slot);
      const edge = this.params.clock.indexFrom(calendar.now);
      if (this.op === READ) this.sendAddress(slot, edge);
      else this.sendData(slot, edge);
    }
    (this.op === WRITE ? first.writes : first.reads).push(slot);
  }

  private keepOrder(slot: number): void {
    const { bursts } = this.context;
    const id = bursts.id[slot]!;
    const tail = this.tails[id]!;
    if (tail >= 0) {
      bursts.orderBefore[slot] = tail;
      bursts.orderAfter[tail] = slot;
    }
    this.tails[id] = slot;
  }

  private sendAddress(slot: number, edge: number): void {
    const { clock } = this.params;
    const first = this.route.hops[0]!;
    this.freeAt = clock.at(edge + 1);
    handOver(clock, edge + 1, first.clock, first.syncIn, this.context.bursts.usableAt, slot);
  }

  /** Sends the data of a write, a beat a cycle; a beat of the first element is there with its last byte. */
  private sendData(slot: number, edge: number): void {
    const { bursts } = this.context;
    const { clock, widthBytes } = this.params;
    const first = this.route.hops[0]!;
    const address = bursts.address[slot]!;
    const end = address + bursts.bytes[slot]!;
    const base = bursts.beatBase(slot, 0);
    const count = bursts.beatCount(slot, 0);
    const origin = Math.floor(address / widthBytes);
    const size = first.beatBytes;
    let sent = 0;
    let low = address;
    for (let k = 0; k < count; k++) {
      const high = Math.min((Math.floor(address / size) + k + 1) * size, end);
      sent = Math.floor((high - 1) / widthBytes) - origin;
      handOver(clock, edge + sent + 1, first.clock, first.syncIn, bursts.beats, base + k);
      this.taker.moved(high - low, clock.at(edge + sent + 1), high - low);
      low = high;
    }
    this.freeAt = clock.at(edge + sent + 1);
    bursts.usableAt[slot] = bursts.beats[base]!;
    if (first.early) {
      bursts.responseAt[slot * bursts.hops] = bursts.beats[base + count - 1]!;
      first.writeLane.offer(slot, 0);
    }
  }

  /** The queue was full and loses what finds it so. */
  private lose(): void {
    const { bursts, probe, calendar, tally } = this.context;
    const slot = this.presented;
    this.presented = -1;
    this.backlogMeter.change(calendar.now, -bursts.bytes[slot]!);
    probe.lost(slot);
    tally.issuedBursts--;
    const request = bursts.request[slot]!;
    this.requests.lost[request] = 1;
    bursts.settle(slot, RESPONSE | FORWARD);
    if (this.requests.landed(request)) this.finishRequest(request);
    if (!this.idle) this.kickNow();
  }

  private complete(): void {
    const { bursts, probe, tally, calendar } = this.context;
    const slot = this.done.shift();
    if (this.done.length > 0) calendar.arm(this.doneCarrier, bursts.doneAt[this.done.head]!);
    this.completing = this.clocked;
    this.outstanding--;
    tally.completedBursts++;
    if (this.route.immediate && this.op === READ) {
      this.taker.moved(bursts.bytes[slot]!, calendar.now, bursts.bytes[slot]!);
    }
    probe.completed(slot);
    const request = bursts.request[slot]!;
    bursts.settle(slot, RESPONSE);
    if (this.requests.landed(request)) this.finishRequest(request);
    if (!this.idle) this.kickNow();
    this.owner.roomToIssue(this.params.write);
    if (this.completing) this.issueNext();
  }

  /**
   * An answer comes at an edge, at which the next burst may go at once: what room there is at this instant was said before.
   */
  private issueNext(): void {
    this.completing = false;
    if (this.idle) return;
    const { now } = this.context.calendar;
    if (this.freeAt <= now) this.issue();
    else this.kickNow();
  }

  private finishRequest(request: number): void {
    const { requests, context } = this;
    if (context.window.holds(requests.wantedAt[request]!)) context.tally.counted--;
    const { master, write } = this.params;
    if (requests.lost[request] === 0) {
      context.probe.requestCompleted(master, write, requests, request);
    }
    const thinkPs = requests.thinkPs[request]!;
    const ask = requests.ask[request]!;
    requests.release(request);
    this.owner.requestDone(write, thinkPs, ask);
  }
}
