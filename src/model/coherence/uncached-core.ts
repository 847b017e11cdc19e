import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import type { Clock } from '../../engine/clock.js';
import { Phase } from '../../engine/phase.js';
import type { MasterSpec } from '../../scenario/scenario.js';
import type { AccessSource } from './access-source.js';
import type { Context } from '../context.js';
import { IssueSide } from '../issue-side.js';
import type { Unfinished } from '../open-requests.js';
import type { WantedRequest } from '../request-table.js';
import type { SideOwner, SideParams } from '../side-params.js';
import type { Window } from '../window.js';
import { CombiningBuffer } from './combining-buffer.js';
import { HeldRequests } from './held-requests.js';
import { Upkeep, type UpkeepJob } from './upkeep.js';

/** Core cycles without a further store after which what was merged goes out. */
const LINGER_CYCLES = 16;

/** Where a core that goes past the caches stands. */
export interface UncachedPlace {
  readonly index: number;
  readonly clock: Clock;
  readonly baseAddress: number;
  readonly syncBack: number;
  /** Bytes up to which stores merge; null where they do not. */
  readonly combineBytes: number | null;
}

/** One direction of such a core: it also knows the requests that the core keeps back, and the write that it merges. */
class HeldSide extends IssueSide {
  private readonly window: Window;

  constructor(
    context: Context,
    params: SideParams,
    owner: SideOwner,
    private readonly held: HeldRequests,
    private readonly combining: CombiningBuffer | null,
  ) {
    super(context, params, owner);
    this.window = context.window;
  }

  override unfinished(): Unfinished {
    const { bursts, requests } = super.unfinished();
    const held = [...this.held.wantedInside(), ...(this.combining?.wantedInside(this.window) ?? [])];
    return { bursts: [...bursts, ...held], requests: [...requests, ...held] };
  }
}

/**
 * A core whose buffer is not cached. Accesses go out one by one, and each blocks the core until it is answered. Stores to
 * a write-combining buffer take it a cycle each: neighbours within a line merge, and go out as one write when the line is
 * full, when a store lies elsewhere, before a load, or when no store has come for a while.
 */
export class UncachedCore implements Actor, SideOwner {
  readonly reads: IssueSide;
  readonly writes: IssueSide;
  private readonly carrier: Carrier;
  private readonly heldReads: HeldRequests;
  private readonly heldWrites: HeldRequests;
  private readonly combining: CombiningBuffer | null;
  private readonly upkeep: Upkeep;
  /** Direction of the requests that wait, in order: 1 for stores. */
  private readonly order: number[] = [];
  /** An access is out that the core waits for; a merged write finds no place. */
  private blocked = false;
  private crowded = false;
  /** Instant from which on the core can begin the next access. */
  private freeAt: number;
  private dependentAt: number;
  private lingerAt = Infinity;

  constructor(
    private readonly context: Context,
    private readonly spec: MasterSpec,
    private readonly place: UncachedPlace,
    private readonly source: AccessSource,
  ) {
    const { combineBytes, baseAddress } = place;
    this.heldReads = new HeldRequests(context.window);
    this.heldWrites = new HeldRequests(context.window);
    this.combining = combineBytes === null ? null : new CombiningBuffer(combineBytes, baseAddress);
    this.reads = new HeldSide(context, this.params(false), this, this.heldReads, null);
    this.writes = new HeldSide(context, this.params(true), this, this.heldWrites, this.combining);
    this.carrier = context.calendar.carrier(this, 0, Phase.arrive);
    this.upkeep = new Upkeep(context, place, spec.core!, null, -1, (edge) => this.endUpkeep(edge));
    this.freeAt = spec.startPs;
    this.dependentAt = spec.startPs;
  }

  /** Draws the first request; call once. */
  start(): void {
    if (this.spec.issue.process === 'silent') return;
    this.source.advance();
    this.sleep();
  }

  wake(): void {
    const { now } = this.context.calendar;
    for (let at = this.wantAt(); at <= now; at = this.wantAt()) this.want(at);
    if (this.upkeep.waiting) this.beginUpkeep(now);
    while (!this.blocked && !this.crowded && !this.keeping && this.order.length > 0 && this.freeAt <= now)
      this.next(now);
    if (this.lingerAt <= now && !this.crowded) this.flush();
    this.sleep();
  }

  /** A task wants an access now, at an address within the memory. */
  ask(write: boolean, address: number, bytes: number, serviceDraw: number, ask: number): void {
    const { calendar, window, tally, probe } = this.context;
    const { now: wantedPs } = calendar;
    const offset = address - this.place.baseAddress;
    (write ? this.heldWrites : this.heldReads).push({ wantedPs, offset, bytes, thinkPs: 0, serviceDraw, ask });
    this.order.push(write ? 1 : 0);
    if (window.holds(wantedPs)) tally.counted++;
    probe.keptBack(this.place.index, write, bytes, wantedPs);
    calendar.armBy(this.carrier, wantedPs);
  }

  /** A task wants a barrier: next, once what the core has begun is done and what was merged is out. */
  maintain(job: UpkeepJob): void {
    this.upkeep.add(job);
    this.context.calendar.armBy(this.carrier, this.context.calendar.now);
  }

  /** Is upkeep under way, or about to be? Nothing else is begun meanwhile. */
  private get keeping(): boolean {
    return this.upkeep.busy || this.upkeep.waiting;
  }

  private beginUpkeep(now: number): void {
    if (this.blocked || !this.flush() || this.writes.outstanding > 0 || !this.writes.idle) return;
    this.upkeep.begin(this.place.clock.indexFrom(Math.max(now, this.freeAt)));
  }

  /** The core is free again from an edge of its clock on. */
  private endUpkeep(edge: number): void {
    const { calendar } = this.context;
    this.freeAt = Math.max(this.freeAt, this.place.clock.at(edge));
    calendar.armBy(this.carrier, calendar.now);
  }

  roomToIssue(): void {
    if (!this.crowded) return;
    this.crowded = false;
    this.context.calendar.armBy(this.carrier, this.context.calendar.now);
  }

  requestDone(write: boolean, thinkPs: number, ask: number): void {
    const { calendar } = this.context;
    if (write && this.combining !== null) {
      if (this.upkeep.waiting) calendar.armBy(this.carrier, calendar.now);
      return;
    }
    this.blocked = false;
    this.goOn(calendar.now, thinkPs, ask);
    calendar.armBy(this.carrier, calendar.now);
  }

  /** The core is done with an access, and begins the next one no earlier than `timePs`; a dependent source thinks. */
  private goOn(timePs: number, thinkPs: number, ask: number): void {
    this.freeAt = timePs;
    if (ask >= 0) this.context.tasks!.done(ask, timePs);
    else if (this.spec.issue.process === 'dependent') this.dependentAt = timePs + thinkPs;
  }

  /** When the source wants its next request, as far as is known. */
  private wantAt(): number {
    const { source, spec } = this;
    if (source.isOpen) return source.wantedPs;
    if (this.blocked || this.keeping || this.order.length > 0) return Infinity;
    const at = spec.issue.process === 'greedy' ? this.freeAt : this.dependentAt;
    return at < spec.stopPs ? at : Infinity;
  }

  private want(wantedPs: number): void {
    const { source, context, spec } = this;
    if (spec.whenFull === 'drop' && (this.blocked || this.order.length > 0)) {
      context.probe.requestDropped(this.place.index, source.write, source.bytes, wantedPs);
    } else {
      const { offset, bytes, thinkPs, serviceDraw } = source;
      (source.write ? this.heldWrites : this.heldReads).push({
        wantedPs,
        offset,
        bytes,
        thinkPs,
        serviceDraw,
        ask: -1,
      });
      this.order.push(source.write ? 1 : 0);
      if (context.window.holds(wantedPs)) context.tally.counted++;
      context.probe.keptBack(this.place.index, source.write, bytes, wantedPs);
    }
    this.dependentAt = Infinity;
    source.advance();
  }

  /** The oldest request that waits is begun, unless merged stores must go first and cannot. */
  private next(now: number): void {
    const store = this.order[0] === 1;
    if (store && this.combining !== null) {
      this.merge(now, this.combining);
      return;
    }
    if (!this.flush()) return;
    this.order.shift();
    const request = (store ? this.heldWrites : this.heldReads).shift();
    this.letGo(store, request);
    this.uncount(request.wantedPs);
    this.blocked = true;
    if (request.ask >= 0) this.context.tasks!.begun(request.ask, now);
    const side = store ? this.writes : this.reads;
    side.want(side.requests.add(request, request.ask));
  }

  private merge(now: number, buffer: CombiningBuffer): void {
    const { clock } = this.place;
    const { offset, bytes } = this.heldWrites.peek();
    if (!buffer.takes(offset, bytes) && !this.flush()) return;
    this.order.shift();
    const store = this.heldWrites.shift();
    this.letGo(true, store);
    // what is merged counts as one request, wanted with its first store
    if (!buffer.empty) this.uncount(store.wantedPs);
    buffer.add(store);
    this.lingerAt = clock.after(now, LINGER_CYCLES);
    this.goOn(clock.after(now, 1), store.thinkPs, store.ask);
    if (buffer.full) this.flush();
  }

  /** Sends what was merged; false if there is no place for it yet. */
  private flush(): boolean {
    const buffer = this.combining;
    if (buffer === null || buffer.empty) return true;
    this.crowded = !this.writes.hasRoom || !this.writes.idle;
    if (this.crowded) return false;
    const { wantedPs, offset, bytes, serviceDraw } = buffer.take();
    this.lingerAt = Infinity;
    this.uncount(wantedPs);
    const { writes } = this;
    writes.want(writes.requests.add({ wantedPs, offset, bytes, thinkPs: 0, serviceDraw }));
    return true;
  }

  private letGo(write: boolean, { bytes, wantedPs }: WantedRequest): void {
    this.context.probe.letGo(this.place.index, write, bytes, wantedPs);
  }

  /** The side counts a request again when it is handed over. */
  private uncount(wantedPs: number): void {
    if (this.context.window.holds(wantedPs)) this.context.tally.counted--;
  }

  private sleep(): void {
    const { calendar } = this.context;
    let next = this.wantAt();
    if (!this.crowded && !this.blocked && !this.keeping && this.order.length > 0) next = Math.min(next, this.freeAt);
    if (!this.crowded) next = Math.min(next, this.lingerAt);
    if (next < Infinity) calendar.armBy(this.carrier, Math.max(next, calendar.now));
  }

  private params(write: boolean): SideParams {
    const { spec, place } = this;
    return {
      master: place.index,
      write,
      clock: place.clock,
      widthBytes: spec.widthBytes,
      burstBeats: spec.burstBeats,
      outstanding: write && place.combineBytes !== null ? spec.maxWrites : 1,
      ids: spec.ids,
      qos: spec.qos,
      baseAddress: place.baseAddress,
      syncBack: place.syncBack,
    };
  }
}
