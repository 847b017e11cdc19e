// Hot path: hits in the private cache run ahead in a loop, without an event each. Nothing is allocated per access.
import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import type { Clock } from '../../engine/clock.js';
import { Phase } from '../../engine/phase.js';
import type { CoreSpec, MasterSpec } from '../../scenario/scenario.js';
import type { AccessSource } from './access-source.js';
import { arrive } from '../arrival.js';
import { READ, WRITE } from '../bursts.js';
import type { Context } from '../context.js';
import type { ForwardQueue } from '../forward-queue.js';
import type { Unfinished } from '../open-requests.js';
import { CacheCounts } from './cache-counts.js';
import { Want } from './cache-model.js';
import type { CoherenceUnit } from './coherence-unit.js';
import { ASKED, CoreAccesses } from './core-accesses.js';
import type { CoreSide, SideHost } from './core-side.js';
import { victimDraw } from './draws.js';
import { Outcome, PrivateCache } from './private-cache.js';
import { Upkeep, type UpkeepJob } from './upkeep.js';

const STEP = 0;
const LAND = 1;
/** Accesses that may run ahead in one event, so that a run that only hits still passes through the calendar. */
const MOST_AHEAD = 4096;

/** Where a core stands. */
export interface CorePlace {
  readonly index: number;
  readonly clock: Clock;
  readonly baseAddress: number;
  readonly syncBack: number;
}

/**
 * A core whose buffer is cached. It looks its accesses up in order, one each `hitCycles`, a line at a time: a hit is done
 * at the end of its lookup; a miss is fetched from the unit while later accesses go on. At most `parallelism` accesses
 * wait for lines (one that joins a line already on its way counts); the next one that would have to stalls the core.
 */
export class CachedCore implements Actor, SideHost {
  readonly reads: CoreSide;
  readonly writes: CoreSide;
  readonly cache: PrivateCache;
  readonly counts: CacheCounts;

  private readonly core: CoreSpec;
  private readonly accesses: CoreAccesses;
  private readonly upkeep: Upkeep;
  private readonly stepCarrier: Carrier;
  private readonly landCarrier: Carrier;
  private readonly lineBytes: number;

  /** Edge from which on the next lookup can start. */
  private freeEdge: number;
  /** End of the current piece's lookup; Infinity when there is no piece. */
  private resolveAt = Infinity;
  private offeredAt = -1;
  private stalled = false;
  /** When a stalled access is tried again, and when the unit's queue has room, as far as is known. */
  private retryAt = Infinity;
  private roomAt = 0;
  /** Instant from which on a dependent source wants its next request. */
  private dependentAt: number;
  private horizon = 0;

  /** By flight: what the access was, while its record carries the line. */
  private readonly heldAddress: Float64Array;
  private readonly heldBytes: Float64Array;
  /** Accesses that wait for a flight, in order. */
  private readonly joined: number[] = [];
  private readonly joinedFlight: number[] = [];
  private readonly landing: number[] = [];

  constructor(
    private readonly context: Context,
    private readonly spec: MasterSpec,
    private readonly place: CorePlace,
    private readonly source: AccessSource,
    private readonly unit: CoherenceUnit,
  ) {
    const core = spec.core!;
    this.core = core;
    this.lineBytes = unit.spec.lineBytes;
    const name = `${spec.name} L1`;
    this.cache = new PrivateCache(core.l1, this.lineBytes, core.parallelism, victimDraw(context, name));
    this.number = unit.addCore(spec.name, this.cache);
    this.counts = new CacheCounts(name, context.window, place.index + 1);
    this.accesses = new CoreAccesses(context, spec, place, this.lineBytes, this);
    this.upkeep = new Upkeep(context, place, core, unit, this.number, (edge) => this.goOn(edge));
    unit.addUpkeep(this.number, place.index, this.upkeep);
    this.reads = this.accesses.reads;
    this.writes = this.accesses.writes;
    this.stepCarrier = context.calendar.carrier(this, STEP, Phase.arrive);
    this.landCarrier = context.calendar.carrier(this, LAND, Phase.complete);
    this.heldAddress = new Float64Array(core.parallelism);
    this.heldBytes = new Float64Array(core.parallelism);
    this.freeEdge = place.clock.indexFrom(spec.startPs);
    this.dependentAt = spec.issue.process === 'dependent' ? spec.startPs : Infinity;
  }

  /** Number of the private cache at the unit. */
  readonly number: number;

  /** Draws the first request; call once. */
  start(): void {
    if (this.spec.issue.process === 'silent') return;
    this.source.advance();
    this.sleep();
  }

  /** A task wants an access now, at an address within the memory. */
  ask(write: boolean, address: number, bytes: number, ask: number, drawKey: number): void {
    this.accesses.ask(write, address, bytes, ask, drawKey);
    this.context.calendar.armBy(this.stepCarrier, this.context.calendar.now);
  }

  /** A task wants lines cleaned or invalidated: next, as soon as what the core has begun is done. */
  maintain(job: UpkeepJob): void {
    this.upkeep.syncIn = this.reads.route.hops[0]!.syncIn;
    this.upkeep.add(job);
    this.context.calendar.armBy(this.stepCarrier, this.context.calendar.now);
  }

  /** The core is free again from an edge of its clock on. */
  private goOn(edge: number): void {
    if (edge > this.freeEdge) this.freeEdge = edge;
    const { calendar } = this.context;
    calendar.armBy(this.stepCarrier, Math.max(calendar.now, this.place.clock.at(edge)));
  }

  wake(tag: number): void {
    if (tag === STEP) this.run();
    else this.land();
  }

  fetched(slot: number, timePs: number): void {
    const { bursts, calendar } = this.context;
    const { clock, syncBack } = this.place;
    bursts.doneAt[slot] = clock.at(clock.indexFrom(timePs) + syncBack);
    this.landing.push(slot);
    if (this.landing.length === 1) calendar.arm(this.landCarrier, bursts.doneAt[slot]!);
  }

  makesRoom({ freesAt }: ForwardQueue): void {
    this.roomAt = freesAt;
    if (this.stalled) this.retry(freesAt);
  }

  unfinished(write: boolean): Unfinished {
    return this.accesses.unfinished(write);
  }

  /** Goes through the accesses until one needs an event of its own, or an event of another comes first. */
  private run(): void {
    const { calendar } = this.context;
    const now = calendar.now;
    this.pull(now);
    if (this.stalled && now < this.retryAt) {
      this.sleep();
      return;
    }
    this.retryAt = Infinity;
    this.lookAhead();
    for (let ahead = MOST_AHEAD; this.resolveAt < Infinity || this.begin(); ahead--) {
      const at = this.resolveAt > now ? this.resolveAt : now;
      if (at > now && (at >= this.horizon || ahead <= 0)) break;
      this.pull(at);
      this.stalled = !this.resolve(at);
      if (this.stalled) break;
    }
    this.sleep();
  }

  /** Sets the horizon to the next instant at which anything else happens: until then no snoop can come. */
  private lookAhead(): void {
    const next = this.context.calendar.next();
    this.horizon = next === null ? Infinity : next.due;
  }

  /** Arms the next step: the end of a lookup, or the next want. */
  private sleep(): void {
    const { calendar } = this.context;
    if (this.upkeep.waiting && this.isIdle())
      this.upkeep.begin(Math.max(this.freeEdge, this.place.clock.indexFrom(calendar.now)));
    let next = this.stalled ? this.retryAt : this.resolveAt;
    const want = this.wantAt();
    if (want < next && (this.source.isOpen || (this.resolveAt === Infinity && !this.keeping))) next = want;
    if (next < Infinity) calendar.armBy(this.stepCarrier, Math.max(next, calendar.now));
  }

  /** Is upkeep under way, or about to be? Nothing else is begun meanwhile, and a closed source wants nothing. */
  private get keeping(): boolean {
    return this.upkeep.busy || this.upkeep.waiting;
  }

  /** Is everything that was begun done? What waits is not begun while there is upkeep to do. */
  private isIdle(): boolean {
    const { accesses, cache } = this;
    return this.resolveAt === Infinity && accesses.current < 0 && cache.flying === 0 && this.joined.length === 0;
  }

  /** When the source wants its next request, as far as is known. */
  private wantAt(): number {
    if (this.source.isOpen) return this.source.wantedPs;
    const at = this.spec.issue.process === 'greedy' ? this.place.clock.at(this.freeEdge) : this.dependentAt;
    return at < this.spec.stopPs ? at : Infinity;
  }

  /** Takes in what an open source wants up to `timePs`. */
  private pull(timePs: number): void {
    if (!this.source.isOpen) return;
    while (this.source.wantedPs <= timePs) this.want(this.source.wantedPs);
  }

  private want(wantedPs: number): void {
    const { accesses } = this;
    const busy = accesses.current >= 0 || accesses.backlog > 0 || this.resolveAt < Infinity;
    accesses.want(this.source, wantedPs, busy);
  }

  /** Makes the next piece the current one; false if there is none before the next event. */
  private begin(): boolean {
    const { accesses, place } = this;
    if (accesses.current < 0) {
      if (this.keeping) return false;
      if (accesses.backlog === 0 && !this.wantNext()) return false;
      const wanted = place.clock.indexFrom(accesses.shift());
      if (wanted > this.freeEdge) this.freeEdge = wanted;
      accesses.tellBegun(place.clock.at(this.freeEdge));
    }
    this.freeEdge += this.core.hitCycles;
    this.resolveAt = place.clock.at(this.freeEdge);
    this.offeredAt = -1;
    return true;
  }

  /** Nothing waits: takes what the source wants next, if that comes before any other event. */
  private wantNext(): boolean {
    const { calendar } = this.context;
    const at = this.wantAt();
    if (at === Infinity || (at > calendar.now && at >= this.horizon)) return false;
    this.dependentAt = Infinity;
    this.want(at);
    return this.accesses.backlog > 0;
  }

  /** The current piece's lookup ends at `timePs`. Answers false if it cannot be dealt with yet. */
  private resolve(timePs: number): boolean {
    const { cache } = this;
    const { store, nextByte } = this.accesses;
    const line = this.unit.lines.lineOf(this.reads.route.refill, nextByte);
    const outcome = cache.access(line, store);
    if (outcome === Outcome.hit) {
      this.looked('hits', line, timePs);
      this.complete(this.take(timePs), timePs);
      return true;
    }
    if (outcome === Outcome.wait || cache.flying + this.joined.length >= this.core.parallelism) return false;
    if (outcome === Outcome.merged) {
      this.looked('merged', line, timePs);
      this.joinedFlight.push(cache.flightOf(line));
      this.joined.push(this.take(timePs));
      return true;
    }
    return this.fetch(line, store, outcome, timePs);
  }

  private fetch(line: number, store: boolean, outcome: number, timePs: number): boolean {
    const { bursts, calendar, probe } = this.context;
    const { route } = this.reads;
    const first = route.hops[0]!;
    // a fetch leaves in an event of its own: what runs ahead may not touch the fabric
    if (timePs > calendar.now) {
      this.horizon = timePs;
      return true;
    }
    if (this.offeredAt < 0) this.offeredAt = timePs;
    if (!first.reads.hasRoom(timePs)) {
      if (this.roomAt > timePs) this.retryAt = this.place.clock.edgeFrom(this.roomAt);
      return false;
    }
    this.looked(outcome === Outcome.upgrade ? 'hits' : 'misses', line, timePs);
    const offered = this.offeredAt;
    const slot = this.take(timePs);
    bursts.offeredAt[slot] = offered;
    probe.offered(slot);
    bursts.acceptedAt[slot] = timePs;
    probe.accepted(slot);
    const flight = this.cache.start(line, store, slot);
    this.countVictim(timePs);
    this.heldAddress[flight] = bursts.address[slot]!;
    this.heldBytes[flight] = bursts.bytes[slot]!;
    bursts.op[slot] = READ;
    bursts.id[slot] = flight;
    bursts.address[slot] = Math.floor(bursts.address[slot]! / this.lineBytes) * this.lineBytes;
    bursts.bytes[slot] = this.lineBytes;
    bursts.scratch[slot] = outcome === Outcome.upgrade ? Want.upgrade : store ? Want.own : Want.copy;
    bursts.clearBeats(slot);
    bursts.usableAt[slot] = arrive(first.clock, timePs, first.syncIn);
    first.reads.push(slot);
    this.lookAhead();
    return true;
  }

  private countVictim(timePs: number): void {
    if (this.cache.evicted < 0) return;
    this.counts.add(this.place.index, 'evictions', timePs);
    if (this.cache.evictedDirty) this.counts.add(this.place.index, 'writebacks', timePs);
  }

  private looked(outcome: 'hits' | 'misses' | 'merged', line: number, timePs: number): void {
    this.counts.looked(this.place.index, outcome, timePs);
    const { probe } = this.context;
    probe.lookup(this.unit.base.index, 1 + this.number, this.place.index, line, outcome === 'hits');
  }

  /** The record of the current piece, which is no longer current. */
  private take(timePs: number): number {
    this.resolveAt = Infinity;
    const edge = this.place.clock.indexFrom(timePs);
    if (edge > this.freeEdge) this.freeEdge = edge;
    return this.accesses.take(timePs, this.reads.route);
  }

  /** A fetched line is in: its accesses are done, and those that waited for it. */
  private land(): void {
    const { bursts, calendar } = this.context;
    const now = calendar.now;
    const slot = this.landing.shift()!;
    if (this.landing.length > 0) calendar.arm(this.landCarrier, bursts.doneAt[this.landing[0]!]!);
    const flight = this.cache.slots.indexOf(slot);
    const line = this.cache.lineOf(flight);
    this.unit.received(line, this.cache.land(flight));
    if (bursts.scratch[slot] !== Want.copy) bursts.op[slot] = WRITE;
    bursts.address[slot] = this.heldAddress[flight]!;
    bursts.bytes[slot] = this.heldBytes[flight]!;
    this.complete(slot, now);
    this.completeJoined(flight, slot, now);
    if (this.stalled) this.retry(now);
    else this.sleep();
  }

  private retry(timePs: number): void {
    const edge = this.place.clock.edgeFrom(timePs);
    if (edge < this.retryAt) this.retryAt = edge;
    this.context.calendar.armBy(this.stepCarrier, edge);
  }

  private completeJoined(flight: number, slot: number, now: number): void {
    const { joined, joinedFlight } = this;
    let kept = 0;
    for (let i = 0; i < joined.length; i++) {
      if (joinedFlight[i] === flight) {
        this.context.probe.lineJoined(joined[i]!, slot);
        this.complete(joined[i]!, now);
      } else {
        joined[kept] = joined[i]!;
        joinedFlight[kept++] = joinedFlight[i]!;
      }
    }
    joined.length = kept;
    joinedFlight.length = kept;
  }

  private complete(slot: number, timePs: number): void {
    const thinkPs = this.accesses.complete(slot, timePs);
    // what a task does next may come before what this core was going to look at
    if (thinkPs === ASKED && timePs < this.horizon) this.horizon = timePs;
    if (thinkPs >= 0 && this.spec.issue.process === 'dependent') this.dependentAt = timePs + thinkPs;
  }
}
