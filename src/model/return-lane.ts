// Hot path: one decision per burst (or per gap in its data) and element on the way back. Runs of beats that nothing can
// interrupt are sent in one event. Nothing is allocated per decision.
import type { Actor } from '../engine/calendar.js';
import type { Carrier } from '../engine/carrier.js';
import type { Clock } from '../engine/clock.js';
import { Phase } from '../engine/phase.js';
import type { Arbiter } from './arbiter.js';
import { handOver } from './arrival.js';
import { passRun } from './beat-run.js';
import { READ as READ_OP } from './bursts.js';
import { Contenders } from './contenders.js';
import type { Context } from './context.js';
import type { Lane } from './lane.js';
import type { LaneWatcher } from './lane-watcher.js';
import { TimeMeter } from './window.js';

const READ = READ_OP;

/**
 * The way back from one element to one of its inputs: a beat of read data, or a write response, per cycle.
 *
 * A grant is per burst: the burst granted sends each beat as soon as it is there. A cycle in which it has none may carry
 * a beat of another burst, if that is not of the same master and ID. Nothing holds a beat back: whoever asked has
 * reserved the space for the answer. At the first hop of a route answers leave in the order of issue per master,
 * direction and ID.
 */
export class ReturnLane implements Actor, Lane {
  readonly busy: TimeMeter;
  grants = 0;
  watcher: LaneWatcher | null = null;
  readonly place: number;
  user = -1;
  since = 0.5;
  freeAt = 0.5;
  readonly emptied = null;
  /** Does all that comes in here come from one other lane, one at a time? Set when the system is built. */
  straight = false;

  private readonly contenders = new Contenders();
  /** The burst that holds the grant, or −1. */
  private holder = -1;
  /** Bursts, but for the holder, of which some beats are sent and some are not. */
  private halfSent = 0;
  private readonly carrier: Carrier;

  constructor(
    private readonly context: Context,
    readonly element: number,
    private readonly clock: Clock,
    private readonly backwardCycles: number,
    private readonly arbiter: Arbiter,
  ) {
    this.place = context.places.count++;
    context.places.lanes.push(this);
    this.freeAt = 0;
    this.carrier = context.calendar.carrier(this, 0, Phase.decide);
    this.busy = new TimeMeter(context.window);
  }

  /**
   * The first beat of the burst's answer (or its write response) is known to be usable here: `beats` (`responseAt`) of
   * this hop is set. Called once per burst; for beats that become known later call `more`.
   */
  offer(slot: number, hop: number): void {
    const { bursts } = this.context;
    if (hop === 0 && bursts.orderBefore[slot]! >= 0) {
      bursts.parked[slot] = 1;
      return;
    }
    this.enter(slot, hop);
  }

  /** Further beats of a burst that was offered are known. */
  more(slot: number, hop: number): void {
    if (this.context.bursts.parked[slot] === 1 && hop === 0) return;
    const at = this.nextBeatAt(slot, hop);
    const place = this.contenders.placeOf(slot);
    // a next beat that was known before is no news: the lane has its reason not to have sent it
    if (at === this.contenders.due[place]) return;
    this.contenders.due[place] = at;
    this.kick(at);
  }

  wake(): void {
    const now = this.context.calendar.now;
    if (now < this.freeAt) {
      this.context.calendar.arm(this.carrier, this.freeAt);
      return;
    }
    const edge = this.clock.indexFrom(now);
    const place = this.choose(edge);
    if (place >= 0) this.send(place, edge);
    this.sleep();
  }

  private enter(slot: number, hop: number): void {
    const at = this.nextBeatAt(slot, hop);
    this.contenders.add(slot, hop, at);
    this.kick(at);
  }

  private kick(timePs: number): void {
    if (timePs === Infinity) return;
    const from = timePs > this.freeAt ? timePs : this.freeAt;
    this.context.calendar.armBy(this.carrier, this.clock.at(this.clock.indexFrom(from)));
  }

  /** When the next beat of the burst can leave, as far as is known. */
  private nextBeatAt(slot: number, hop: number): number {
    const { bursts } = this.context;
    const at = slot * bursts.hops + hop;
    const ready =
      bursts.op[slot] === READ ? bursts.beats[at * bursts.beatsPerHop + bursts.sent[at]!]! : bursts.responseAt[at]!;
    if (hop !== 0) return ready;
    const held = bursts.heldUntil[slot]!;
    return ready > held ? ready : held;
  }

  /**
   * Place among the contenders of the holder if its next beat is here, else of the arbiter's choice among those that
   * have one; −1 for none.
   */
  private choose(edge: number): number {
    const { bursts, calendar } = this.context;
    const { now } = calendar;
    const { holder, arbiter } = this;
    if (holder >= 0) {
      const place = this.contenders.placeOf(holder);
      if (this.contenders.due[place]! <= now) return place;
    }
    arbiter.begin(calendar, edge);
    for (let i = 0; i < this.contenders.count; i++) {
      if (this.contenders.due[i]! > now) continue;
      const slot = this.contenders.slots[i]!;
      const hop = this.contenders.hops[i]!;
      if (slot === holder || this.mustWait(slot, hop)) continue;
      const source = bursts.routes[slot]!.hops[hop]!.output;
      const input = source < 0 ? 0 : source;
      if (bursts.op[slot] === READ) arbiter.consider(input, slot, bursts.beats, bursts.beatBase(slot, hop), 1);
      else arbiter.consider(input, slot, bursts.responseAt, slot * bursts.hops + hop, 1);
    }
    const slot = arbiter.pick();
    if (slot < 0) return -1;
    const place = this.contenders.placeOf(slot);
    if (holder < 0) this.hold(slot, this.contenders.hops[place]!, edge);
    return place;
  }

  private hold(slot: number, hop: number, edge: number): void {
    const { bursts } = this.context;
    this.holder = slot;
    if (bursts.sent[slot * bursts.hops + hop]! > 0 && bursts.op[slot] === READ) this.halfSent--;
    this.granted(edge);
  }

  /** Somebody has the lane from `edge` on. */
  private granted(edge: number): void {
    if (this.context.window.holds(this.clock.at(edge))) this.grants++;
  }

  /** Does a burst of the same master and ID hold the grant, or stand half sent? Only another ID may come between. */
  private mustWait(slot: number, hop: number): boolean {
    const { holder, context } = this;
    const { bursts } = context;
    if (holder >= 0 && this.sameStream(slot, holder)) return true;
    if (this.halfSent === 0 || bursts.sent[slot * bursts.hops + hop]! > 0) return false;
    for (let i = 0; i < this.contenders.count; i++) {
      const other = this.contenders.slots[i]!;
      if (bursts.sent[other * bursts.hops + this.contenders.hops[i]!]! > 0 && this.sameStream(slot, other)) return true;
    }
    return false;
  }

  private sameStream(a: number, b: number): boolean {
    const { master, id } = this.context.bursts;
    return master[a] === master[b] && id[a] === id[b];
  }

  /** Sends beats from `edge` on: the holder's as long as they are there, one of any other burst. */
  private send(place: number, edge: number): void {
    const { bursts } = this.context;
    const slot = this.contenders.slots[place]!;
    const hop = this.contenders.hops[place]!;
    if (bursts.op[slot] !== READ) {
      this.handResponse(slot, hop, edge);
      this.finish(slot, hop);
      return;
    }
    const at = slot * bursts.hops + hop;
    const total = bursts.beatCount(slot, hop);
    const holds = slot === this.holder;
    const first = bursts.sent[at]!;
    if (!holds && first === 0) this.halfSent++;
    const end = this.runEnd(at * bursts.beatsPerHop, first, total, edge, holds ? Infinity : this.gapUntil());
    this.sendRun(slot, hop, first, end, total, edge);
    bursts.sent[at] = end;
    if (hop > 0 && !this.carriedOn(slot, hop)) this.announce(slot, hop);
    if (end === total) this.finish(slot, hop);
    else this.contenders.due[place] = this.nextBeatAt(slot, hop);
  }

  /**
   * Until when a burst that fills the holder's gap has it for itself. Where the arbiter goes by age, whoever comes in then
   * is younger, unless half sent. A next beat not known yet leaves but this cycle: that may depend on the order of events.
   */
  private gapUntil(): number {
    if (!this.arbiter.byAge || this.halfSent > 1) return 0;
    const until = this.contenders.due[this.contenders.placeOf(this.holder)]!;
    return until === Infinity ? 0 : until;
  }

  /**
   * Beats (or a response) are on their way: does the lane before send them on in this same event? A lane that only one
   * other feeds has nothing to decide while none of its own waits to be sent: what comes in leaves as it comes.
   */
  private carriedOn(slot: number, hop: number): boolean {
    const { bursts } = this.context;
    const before = bursts.routes[slot]!.hops[hop - 1]!;
    const read = bursts.op[slot] === READ;
    const lane = read ? before.readLane : before.writeLane;
    if (!lane.straight || lane.carrier.due !== Infinity) return false;
    if (hop === 1 && bursts.orderBefore[slot]! >= 0) return false;
    const from = lane.nextBeatAt(slot, hop - 1);
    if (lane.freeAt > from || (slot !== lane.holder && lane.mustWait(slot, hop - 1))) return false;
    // the last byte of a wider beat is still to come
    if (from === Infinity) return true;
    const edge = lane.clock.indexFrom(from);
    if (read) lane.carry(slot, hop - 1, edge);
    else lane.carryResponse(slot, hop - 1, edge);
    return true;
  }

  /** Sends on those beats of a read that are known, the first of them at `edge`: each leaves as it comes, one a cycle. */
  private carry(slot: number, hop: number, edge: number): void {
    const { bursts } = this.context;
    const total = bursts.beatCount(slot, hop);
    const at = slot * bursts.hops + hop;
    const base = at * bursts.beatsPerHop;
    const first = bursts.sent[at]!;
    if (this.holder < 0) this.hold(slot, hop, edge);
    else if (first === 0 && slot !== this.holder) this.halfSent++;
    let end = first;
    for (let start = first; end < total && bursts.beats[base + end]! < Infinity; start = end) {
      const from = end > first ? this.clock.indexFrom(bursts.beats[base + end]!) : edge;
      end = this.runEnd(base, end, total, from, Infinity);
      this.sendRun(slot, hop, start, end, total, from);
    }
    bursts.sent[at] = end;
    if (hop > 0 && !this.carriedOn(slot, hop)) this.announce(slot, hop);
    this.carried(slot, hop, end === total);
  }

  /** Keeps the books of a burst of which beats were sent on: it contends until its last. */
  private carried(slot: number, hop: number, whole: boolean): void {
    const { announced, hops } = this.context.bursts;
    const at = slot * hops + hop;
    if (!whole) {
      if (announced[at] === 0) this.contenders.add(slot, hop, Infinity);
      else this.contenders.due[this.contenders.placeOf(slot)] = Infinity;
      announced[at] = 1;
      return;
    }
    if (announced[at] === 1) this.contenders.drop(slot);
    if (this.holder === slot) this.holder = -1;
    else this.halfSent--;
    this.leave(slot, hop);
    if (this.contenders.count > 0) this.sleep();
  }

  /** Sends on a write's response, which leaves at `edge`. */
  private carryResponse(slot: number, hop: number, edge: number): void {
    this.granted(edge);
    this.handResponse(slot, hop, edge);
    this.leave(slot, hop);
  }

  /** End of the run of beats, a cycle each, that can leave from beat `first` at `edge` on, the others before `untilPs`. */
  private runEnd(base: number, first: number, total: number, edge: number, untilPs: number): number {
    const { beats } = this.context.bursts;
    let end = first + 1;
    for (; end < total; end++) {
      const leaves = this.clock.at(edge + end - first);
      if (leaves >= untilPs || beats[base + end]! > leaves) break;
    }
    return end;
  }

  /** Beats `first` to `end` − 1 leave in a row, a cycle each, from `edge` on. */
  private sendRun(slot: number, hop: number, first: number, end: number, total: number, edge: number): void {
    const { bursts, probe } = this.context;
    this.freeAt = this.clock.at(edge + end - first);
    this.busy.add(this.clock.at(edge), this.freeAt);
    this.usedBy(slot);
    probe.sent(slot, hop, edge, end - first, end === total);
    const leaves = edge + this.backwardCycles - first;
    if (hop > 0) {
      passRun(bursts, slot, hop, hop - 1, first, end, leaves);
      return;
    }
    bursts.routes[slot]!.sink.receive(slot, first, end, end === total, leaves + first);
  }

  /** A write's response leaves at `edge`. */
  private handResponse(slot: number, hop: number, edge: number): void {
    const { bursts, probe } = this.context;
    const route = bursts.routes[slot]!;
    this.freeAt = this.clock.at(edge + 1);
    this.busy.add(this.clock.at(edge), this.freeAt);
    this.usedBy(slot);
    probe.sent(slot, hop, edge, 1, true);
    if (hop === 0) {
      route.sink.receive(slot, 0, 1, true, edge + this.backwardCycles);
      return;
    }
    const before = route.hops[hop - 1]!;
    const place = slot * bursts.hops + hop - 1;
    handOver(this.clock, edge + this.backwardCycles, before.clock, before.syncBack, bursts.responseAt, place);
    if (!this.carriedOn(slot, hop)) before.writeLane.offer(slot, hop - 1);
  }

  private usedBy(slot: number): void {
    const { bursts, calendar } = this.context;
    this.user = bursts.master[slot]!;
    this.since = calendar.now;
  }

  /** Tells the lane before that beats are on their way: the first time by `offer`, then by `more`. */
  private announce(slot: number, hop: number): void {
    const { bursts } = this.context;
    const before = slot * bursts.hops + hop - 1;
    const next = bursts.beats[before * bursts.beatsPerHop + bursts.sent[before]!]!;
    if (next === Infinity) return;
    const lane = bursts.routes[slot]!.hops[hop - 1]!.readLane;
    if (bursts.announced[before] === 1) {
      lane.more(slot, hop - 1);
    } else {
      bursts.announced[before] = 1;
      lane.offer(slot, hop - 1);
    }
  }

  private finish(slot: number, hop: number): void {
    const { bursts } = this.context;
    this.contenders.drop(slot);
    if (this.holder === slot) this.holder = -1;
    else if (bursts.op[slot] === READ) this.halfSent--;
    this.leave(slot, hop);
  }

  /** The last beat of a burst has left: what it held is free, and the next in ID order has its turn. */
  private leave(slot: number, hop: number): void {
    const { bursts } = this.context;
    this.watcher?.left(slot, this);
    if (hop === 0 && bursts.orderAfter[slot]! >= 0) this.release(bursts.orderAfter[slot]!);
  }

  /** The burst behind in ID order may be answered from the next cycle on. */
  private release(slot: number): void {
    const { bursts } = this.context;
    bursts.orderBefore[slot] = -1;
    bursts.heldUntil[slot] = this.freeAt;
    if (bursts.parked[slot] === 0) return;
    bursts.parked[slot] = 0;
    const first = bursts.routes[slot]!.hops[0]!;
    (bursts.op[slot] === READ ? first.readLane : first.writeLane).enter(slot, 0);
  }

  /** Arms the next wake-up: when the lane is free and any contender has a beat. */
  private sleep(): void {
    let next = Infinity;
    for (let i = 0; i < this.contenders.count; i++) {
      const at = this.contenders.due[i]!;
      if (at >= next) continue;
      const slot = this.contenders.slots[i]!;
      // what may not fill the holder's gaps has nothing to wake up for
      if (slot !== this.holder && this.mustWait(slot, this.contenders.hops[i]!)) continue;
      next = at;
      // nothing can be sooner than this
      if (at <= this.freeAt) break;
    }
    this.kick(next);
  }
}
