import { Phase } from '../engine/phase.js';
import type { Actor } from '../engine/calendar.js';
import type { Carrier } from '../engine/carrier.js';
import type { DeviceSpec } from '../scenario/scenario.js';
import { quantileOf } from '../traffic/distribution.js';
import { Arbiter } from './arbiter.js';
import { Pending, WRITE } from './bursts.js';
import type { Context } from './context.js';
import type { ElementBase } from './element.js';
import { EndPoint } from './end-point.js';
import type { ForwardQueue } from './forward-queue.js';
import { TimeMeter } from './window.js';

const DECIDE = -1;

/**
 * A slave with servers: each burst occupies one of them for a time drawn with its request. Register blocks, flash
 * controllers, and the servers of queueing theory. Unclocked, it acts to the picosecond and adds nothing.
 */
export class Device extends EndPoint implements Actor {
  readonly busy: TimeMeter[];
  private arbiter!: Arbiter;
  /** All queues, listed once: every decision goes through them. */
  private order: readonly ForwardQueue[] = [];
  private readonly serving: Int32Array;
  private readonly doneCarriers: readonly Carrier[];
  private readonly decideCarrier: Carrier;
  private readonly service: (uniform: number) => number;
  /** By server: bursts begun inside the window. */
  private readonly served: Int32Array;

  constructor(
    context: Context,
    base: ElementBase,
    private readonly spec: DeviceSpec,
  ) {
    super(context, base);
    this.service = quantileOf(spec.service);
    this.serving = new Int32Array(spec.servers).fill(-1);
    this.served = new Int32Array(spec.servers);
    this.busy = Array.from({ length: spec.servers }, () => new TimeMeter(context.window));
    this.decideCarrier = context.calendar.carrier(this, DECIDE, Phase.decide);
    this.doneCarriers = this.busy.map((_, server) => context.calendar.carrier(this, server, Phase.complete));
  }

  override finish(): void {
    super.finish();
    this.order = [...this.queues()];
    this.arbiter = new Arbiter(this.spec.discipline, this.inputs, this.context.bursts);
  }

  arrived(queue: ForwardQueue): void {
    const { bursts, calendar } = this.context;
    const slot = queue.head;
    const ready = queue.write ? this.lastBeatAt(slot) : bursts.usableAt[slot]!;
    queue.eligibleAt = Math.max(queue.eligibleAt, ready);
    calendar.armBy(this.decideCarrier, this.base.clock.edgeFrom(Math.max(calendar.now, queue.eligibleAt)));
  }

  wake(tag: number): void {
    if (tag === DECIDE) this.decide();
    else this.complete(tag);
  }

  override *channels(): ReturnType<EndPoint['channels']> {
    for (const [server, busy] of this.busy.entries()) {
      yield { name: `server ${server}`, kind: 'server' as const, busy, stalled: null, grants: this.served[server]! };
    }
    yield* super.channels();
  }

  /** Starts as many bursts as there are free servers, each the arbiter's choice among the heads of the queues. */
  private decide(): void {
    const { calendar } = this.context;
    for (;;) {
      const server = this.serving.indexOf(-1);
      const queue = server < 0 ? null : this.nextQueue();
      if (queue === null) return;
      this.start(server, queue);
      if (queue.length > 0) this.arrived(queue);
      if (this.decideCarrier.due === calendar.now) calendar.disarm(this.decideCarrier);
    }
  }

  private nextQueue(): ForwardQueue | null {
    const { calendar, bursts } = this.context;
    const { clock } = this.base;
    const now = calendar.now;
    const edge = clock.indexFrom(now);
    this.arbiter.begin(calendar, edge);
    let next = Infinity;
    for (const queue of this.order) {
      if (queue.length === 0) continue;
      const wait = this.arbiter.opensIn(queue.input, 1);
      const ready = Math.max(queue.eligibleAt, wait < Infinity ? clock.at(edge + wait) : Infinity);
      if (ready > now) next = Math.min(next, ready);
      else this.arbiter.consider(queue.input, queue.head, bursts.usableAt, queue.head, 1);
    }
    const slot = this.arbiter.pick();
    if (slot < 0) {
      if (next < Infinity) calendar.armBy(this.decideCarrier, clock.edgeFrom(next));
      return null;
    }
    for (const queue of this.order) if (queue.head === slot) return queue;
    throw new Error(`device ${this.base.name}: the chosen burst heads no queue`);
  }

  private start(server: number, queue: ForwardQueue): void {
    const { bursts, calendar } = this.context;
    const slot = queue.pop();
    const now = calendar.now;
    queue.release(bursts.routes[slot]!.immediate ? now : this.base.clock.after(now, 1));
    bursts.enteredAt[slot] = now;
    this.noteEntry(slot);
    if (this.context.window.holds(now)) this.served[server]!++;
    this.serving[server] = slot;
    const done = now + Math.round(this.service(bursts.serviceDraw[slot]!));
    this.busy[server]!.add(now, done);
    this.context.probe.taken(slot, this.base.index, server, done);
    calendar.arm(this.doneCarriers[server]!, done);
  }

  private complete(server: number): void {
    const { bursts, calendar } = this.context;
    const slot = this.serving[server]!;
    this.serving[server] = -1;
    const now = calendar.now;
    if (bursts.routes[slot]!.immediate) {
      if (bursts.op[slot] === WRITE) bursts.settle(slot, Pending.forward);
      bursts.routes[slot]!.sink.receive(slot, 0, 1, true, now);
    } else if (bursts.op[slot] === WRITE) {
      bursts.finalAt[slot] = now;
      this.acceptWrite(slot);
    } else {
      const count = bursts.beatCount(slot, bursts.routes[slot]!.hops.length - 1);
      for (let beat = 0; beat < count; beat++) this.setBeat(slot, beat, now);
      this.returned(slot, 0, count - 1);
    }
    calendar.armBy(this.decideCarrier, this.base.clock.edgeFrom(now));
  }

  private lastBeatAt(slot: number): number {
    const { bursts } = this.context;
    const hop = bursts.routes[slot]!.hops.length - 1;
    return bursts.beats[bursts.beatBase(slot, hop) + bursts.beatCount(slot, hop) - 1]!;
  }
}
