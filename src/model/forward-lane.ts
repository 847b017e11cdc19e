// Hot path: one decision per burst and output. Times go through typed arrays; nothing is allocated per decision. A lane
// wakes only when somebody may be granted: who finds no room beyond is noted as held back when it asks, not by a wake-up.
import type { Actor } from '../engine/calendar.js';
import type { Carrier } from '../engine/carrier.js';
import type { Clock } from '../engine/clock.js';
import { Phase } from '../engine/phase.js';
import type { Arbiter } from './arbiter.js';
import { READ as READ_OP } from './bursts.js';
import type { Context } from './context.js';
import type { ForwardQueue, QueueSender } from './forward-queue.js';
import { handOver } from './arrival.js';
import { passRun } from './beat-run.js';
import type { Lane } from './lane.js';
import { TimeMeter } from './window.js';

const READ = READ_OP;

/** A further condition for a grant, such as a port's limits. */
export interface Gate {
  /** What `judge` found: at or before now, a later edge, or Infinity (someone will call `kick`). */
  readonly opensAt: number;
  /** Looks when `slot` may pass. */
  judge(slot: number): void;
  /** The burst passes now. */
  passed(slot: number): void;
  /** Has lanes that share a limit decide in turn, this one among them; false if it shares none and decides by itself. */
  inTurn(lane: ForwardLane): boolean;
}

/**
 * One output of a crossbar in one direction: for reads the address channel (a burst a cycle), for writes address and
 * data together (a beat a cycle; a burst is taken whole and holds the output and its input queue until its last beat
 * has left, gaps included).
 */
export class ForwardLane implements Actor, QueueSender, Lane {
  readonly busy: TimeMeter;
  readonly stalled: TimeMeter;
  grants = 0;
  gate: Gate | null = null;
  readonly place: number;
  user = -1;
  since = 0.5;
  freeAt = 0.5;
  emptied: ForwardQueue | null = null;

  /** Queues whose head wants this output. */
  private readonly asking: ForwardQueue[] = [];
  /** What `collect` and `findChance` find: a field, as a time that is returned is put on the heap. */
  private next = 0.5;
  private readonly carrier: Carrier;

  constructor(
    private readonly context: Context,
    readonly element: number,
    private readonly clock: Clock,
    private readonly forwardCycles: number,
    private readonly arbiter: Arbiter,
    /** Told when a queue has a new head that may want another output. */
    private readonly popped: (queue: ForwardQueue) => void,
  ) {
    this.place = context.places.count++;
    context.places.lanes.push(this);
    this.freeAt = 0;
    this.carrier = context.calendar.carrier(this, 0, Phase.decide);
    this.busy = new TimeMeter(context.window);
    this.stalled = new TimeMeter(context.window);
  }

  /** The head of `queue` wants this output and can be granted from `queue.eligibleAt` on. */
  ask(queue: ForwardQueue): void {
    this.asking.push(queue);
    this.expect(this.asking.length - 1);
  }

  /** Something may be possible from `timePs` on. */
  kick(timePs: number): void {
    if (this.asking.length === 0) return;
    const from = timePs > this.freeAt ? timePs : this.freeAt;
    this.context.calendar.armBy(this.carrier, this.clock.at(this.clock.indexFrom(from)));
  }

  makesRoom(queue: ForwardQueue): void {
    this.kick(queue.freesAt);
  }

  wake(): void {
    if (this.gate === null || !this.gate.inTurn(this)) this.decide();
  }

  /** Is a decision of this lane due at this instant? */
  get due(): boolean {
    const { calendar } = this.context;
    return this.carrier.due === calendar.now;
  }

  /** Grants the output to the arbiter's choice, if any can be granted now. */
  decide(): void {
    const { calendar } = this.context;
    const now = calendar.now;
    if (this.due) calendar.disarm(this.carrier);
    if (now < this.freeAt) {
      calendar.arm(this.carrier, this.freeAt);
      return;
    }
    // whoever still finds no room holds it up from now on anew
    this.stalled.end(now);
    const edge = this.clock.indexFrom(now);
    this.collect(edge);
    const slot = this.arbiter.pick();
    if (slot >= 0) {
      this.stalled.end(now);
      this.grant(slot, edge);
    } else if (this.next < Infinity) {
      calendar.arm(this.carrier, this.clock.at(this.clock.indexFrom(this.next)));
    }
  }

  /** Arms the next decision for the asking queues from number `first` on. */
  private expect(first: number): void {
    const { asking } = this;
    this.next = Infinity;
    for (let i = first; i < asking.length; i++) this.findChance(asking[i]!);
    if (this.next < Infinity) this.context.calendar.armBy(this.carrier, this.clock.at(this.clock.indexFrom(this.next)));
  }

  /** A queue may be granted at the earliest: never while there is no room beyond and nobody is about to make any. */
  private findChance(queue: ForwardQueue): void {
    let from = queue.eligibleAt > this.freeAt ? queue.eligibleAt : this.freeAt;
    const room = queue.target!.roomFrom;
    if (room > from) {
      const since = this.clock.at(this.clock.indexFrom(from));
      this.stalled.begin(since);
      this.context.probe.waits(queue.head, this.element, since);
      from = room;
    }
    if (from < this.next) this.next = from;
  }

  /** Puts the candidates of this edge, which is now, to the arbiter; `next` is when the next one turns up unannounced. */
  private collect(edge: number): void {
    const { bursts, probe, calendar } = this.context;
    const { now } = calendar;
    const { asking, arbiter, gate } = this;
    const { weighsLength } = arbiter;
    let next = Infinity;
    arbiter.begin(calendar, edge);
    for (let i = 0; i < asking.length; i++) {
      const queue = asking[i]!;
      if (queue.eligibleAt > now) {
        if (queue.eligibleAt < next) next = queue.eligibleAt;
        continue;
      }
      const slot = queue.head;
      const target = queue.target!;
      if (!target.hasRoom(now)) {
        this.stalled.begin(now);
        probe.waits(slot, this.element, now);
        const room = target.roomFrom;
        if (room < next) next = room;
        continue;
      }
      if (gate !== null) {
        gate.judge(slot);
        const opens = gate.opensAt;
        if (opens > now) {
          probe.findsRoom(slot);
          if (opens < next) next = opens;
          continue;
        }
      }
      const cycles = weighsLength && queue.write ? bursts.beatCount(slot, bursts.hop[slot]!) : 1;
      const wait = weighsLength ? arbiter.opensIn(queue.input, cycles) : 0;
      if (wait > 0) {
        probe.findsRoom(slot);
        if (wait < Infinity) {
          const opens = this.clock.at(edge + wait);
          if (opens < next) next = opens;
        }
        continue;
      }
      arbiter.consider(queue.input, slot, bursts.usableAt, slot, cycles);
    }
    this.next = next;
  }

  private grant(slot: number, edge: number): void {
    const { bursts, probe, calendar, window } = this.context;
    const queue = this.take(slot);
    const hop = bursts.hop[slot]!;
    if (window.holds(calendar.now)) this.grants++;
    bursts.grantedAt[slot * bursts.hops + hop] = calendar.now;
    this.gate?.passed(slot);
    const lastEdge = bursts.op[slot] === READ ? edge : this.lastBeatEdge(slot, hop, edge);
    this.freeAt = this.clock.at(lastEdge + 1);
    this.busy.add(calendar.now, this.freeAt);
    queue.eligibleAt = this.freeAt;
    this.user = bursts.master[slot]!;
    this.since = calendar.now;
    this.emptied = queue;
    probe.granted(slot, this.element, hop, this.place);
    queue.pop();
    queue.release(this.freeAt);
    if (bursts.op[slot] === READ) this.sendAddress(slot, hop, edge);
    else this.sendData(slot, hop, edge);
    this.expect(0);
    if (queue.length > 0) this.popped(queue);
  }

  /** Removes the asking queue whose head is `slot`. */
  private take(slot: number): ForwardQueue {
    const { asking } = this;
    let i = 0;
    while (asking[i]!.head !== slot) i++;
    const queue = asking[i]!;
    asking[i] = asking[asking.length - 1]!;
    asking.pop();
    return queue;
  }

  private sendAddress(slot: number, hop: number, edge: number): void {
    const { bursts } = this.context;
    const beyond = bursts.routes[slot]!.hops[hop + 1]!;
    handOver(this.clock, edge + this.forwardCycles, beyond.clock, beyond.syncIn, bursts.usableAt, slot);
    bursts.hop[slot] = hop + 1;
    beyond.reads.push(slot);
  }

  /** Edge at which the last beat of a write leaves: a beat a cycle, none before it is here. */
  private lastBeatEdge(slot: number, hop: number, edge: number): number {
    const { bursts, calendar } = this.context;
    const base = bursts.beatBase(slot, hop);
    const count = bursts.beatCount(slot, hop);
    if (bursts.beats[base + count - 1]! <= calendar.now) return edge + count - 1;
    let at = edge - 1;
    for (let k = 0; k < count; k++) at = Math.max(at + 1, this.clock.indexFrom(bursts.beats[base + k]!));
    return at;
  }

  private sendData(slot: number, hop: number, edge: number): void {
    const { bursts } = this.context;
    const beyond = bursts.routes[slot]!.hops[hop + 1]!;
    const base = bursts.beatBase(slot, hop);
    const count = bursts.beatCount(slot, hop);
    const { forwardCycles } = this;
    if (bursts.beats[base + count - 1]! <= this.context.calendar.now) {
      passRun(bursts, slot, hop, hop + 1, 0, count, edge + forwardCycles);
    } else {
      let at = edge - 1;
      for (let k = 0; k < count; k++) {
        at = Math.max(at + 1, this.clock.indexFrom(bursts.beats[base + k]!));
        passRun(bursts, slot, hop, hop + 1, k, k + 1, at + forwardCycles - k);
      }
    }
    const nextBase = bursts.beatBase(slot, hop + 1);
    bursts.usableAt[slot] = bursts.beats[nextBase]!;
    bursts.hop[slot] = hop + 1;
    beyond.writes.push(slot);
    if (beyond.early) {
      const last = bursts.beats[nextBase + bursts.beatCount(slot, hop + 1) - 1]!;
      bursts.responseAt[slot * bursts.hops + hop + 1] = last;
      beyond.writeLane.offer(slot, hop + 1);
    }
  }
}
