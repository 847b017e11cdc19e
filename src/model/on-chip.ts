import { Phase } from '../engine/phase.js';
import type { Actor } from '../engine/calendar.js';
import type { Carrier } from '../engine/carrier.js';
import type { OnChipSpec } from '../scenario/scenario.js';
import { Arbiter } from './arbiter.js';
import { WRITE } from './bursts.js';
import type { Context } from './context.js';
import type { ElementBase } from './element.js';
import { EndPoint } from './end-point.js';
import type { ForwardQueue } from './forward-queue.js';
import { TimeMeter } from './window.js';

/**
 * On-chip memory: banks of one beat a cycle each, interleaved by address. A burst is served bank visit by bank visit in
 * address order; each visit waits for its bank, decided per bank by the arbiter among the inputs and directions that
 * want it. No refresh, no rows.
 *
 * A read's beat is usable on the way back `accessCycles` after the cycle in which its bank took it; a write is accepted
 * as final at the end of its last beat's cycle.
 */
export class OnChip extends EndPoint implements Actor {
  readonly busy: TimeMeter[];
  private readonly arbiters: Arbiter[] = [];
  /** By bank: the edge from which on it is free. */
  private readonly bankFree: Float64Array;
  /** By queue number: next beat of the head to serve, and the edge from which on it may be. */
  private readonly nextBeat: Int32Array[] = [];
  private readonly carriers: readonly Carrier[];
  private readonly order: ForwardQueue[] = [];
  /** By bank: visits begun inside the window. */
  private readonly accesses: Int32Array;

  constructor(
    context: Context,
    base: ElementBase,
    private readonly spec: OnChipSpec,
  ) {
    super(context, base);
    this.busy = Array.from({ length: spec.banks }, () => new TimeMeter(context.window));
    this.bankFree = new Float64Array(spec.banks);
    this.accesses = new Int32Array(spec.banks);
    this.carriers = this.busy.map((_, bank) => context.calendar.carrier(this, bank, Phase.decide));
  }

  override finish(): void {
    super.finish();
    this.order.push(...this.queues());
    for (const _ of this.order) this.nextBeat.push(new Int32Array(1));
    for (const _ of this.busy)
      this.arbiters.push(new Arbiter(this.spec.arbitration, this.contestants(), this.context.bursts));
  }

  arrived(queue: ForwardQueue): void {
    queue.eligibleAt = Math.max(queue.eligibleAt, queue.headUsableAt);
    this.announce(queue);
  }

  override *channels(): ReturnType<EndPoint['channels']> {
    for (const [bank, busy] of this.busy.entries()) {
      yield { name: `bank ${bank}`, kind: 'server' as const, busy, stalled: null, grants: this.accesses[bank]! };
    }
    yield* super.channels();
  }

  /** A bank decides: which head, whose next beat lies here, may use it now. */
  wake(bank: number): void {
    const { calendar } = this.context;
    const { clock } = this.base;
    const now = calendar.now;
    const edge = clock.indexFrom(now);
    if (this.bankFree[bank]! > edge) {
      calendar.arm(this.carriers[bank]!, clock.at(this.bankFree[bank]!));
      return;
    }
    const arbiter = this.arbiters[bank]!;
    arbiter.begin(calendar, edge);
    let next = Infinity;
    for (const [place, queue] of this.order.entries()) {
      if (queue.length === 0 || this.bankOf(queue, place) !== bank) continue;
      const wait = arbiter.opensIn(place, 1);
      const ready = Math.max(this.readyAt(queue, place), wait < Infinity ? clock.at(edge + wait) : Infinity);
      if (ready > now) next = Math.min(next, ready);
      else arbiter.consider(place, queue.head, this.context.bursts.usableAt, queue.head, 1);
    }
    const slot = arbiter.pick();
    if (slot >= 0)
      this.serve(
        this.order.findIndex((queue) => queue.head === slot),
        bank,
        edge,
      );
    else if (next < Infinity) calendar.armBy(this.carriers[bank]!, clock.edgeFrom(next));
  }

  /** Serves the beats of the head that lie in `bank`, one a cycle as they are there, then moves on. */
  private serve(place: number, bank: number, edge: number): void {
    const { bursts } = this.context;
    const { clock } = this.base;
    const queue = this.order[place]!;
    const slot = queue.head;
    if (this.nextBeat[place]![0] === 0) {
      bursts.enteredAt[slot] = this.context.calendar.now;
      this.noteEntry(slot);
    }
    const hop = bursts.routes[slot]!.hops.length - 1;
    const total = bursts.beatCount(slot, hop);
    const base = bursts.beatBase(slot, hop);
    const write = bursts.op[slot] === WRITE;
    let beat = this.nextBeat[place]![0]!;
    let cycle = edge;
    do {
      if (!write) {
        this.setBeat(slot, beat, clock.at(cycle + this.spec.accessCycles));
        this.returned(slot, beat, beat);
      }
      beat++;
      cycle++;
    } while (
      beat < total &&
      this.bankAt(slot, hop, beat) === bank &&
      (!write || bursts.beats[base + beat]! <= clock.at(cycle))
    );
    if (this.context.window.holds(clock.at(edge))) this.accesses[bank]!++;
    this.busy[bank]!.add(clock.at(edge), clock.at(cycle));
    this.context.probe.taken(slot, this.base.index, bank, clock.at(cycle));
    this.bankFree[bank] = cycle;
    queue.eligibleAt = clock.at(cycle);
    if (beat < total) {
      this.nextBeat[place]![0] = beat;
      this.announce(queue);
    } else {
      this.nextBeat[place]![0] = 0;
      this.leave(queue, slot, cycle, write);
    }
    this.context.calendar.armBy(this.carriers[bank]!, clock.at(cycle));
  }

  private leave(queue: ForwardQueue, slot: number, cycle: number, write: boolean): void {
    const end = this.base.clock.at(cycle);
    queue.pop();
    queue.release(end);
    if (write) {
      this.context.bursts.finalAt[slot] = end;
      this.acceptWrite(slot);
    }
    if (queue.length > 0) this.arrived(queue);
  }

  /** Wakes the bank that the head of a queue wants next. */
  private announce(queue: ForwardQueue): void {
    const place = this.order.indexOf(queue);
    const bank = this.bankOf(queue, place);
    const at = Math.max(this.readyAt(queue, place), this.context.calendar.now);
    this.context.calendar.armBy(this.carriers[bank]!, this.base.clock.edgeFrom(at));
  }

  private readyAt(queue: ForwardQueue, place: number): number {
    const { bursts } = this.context;
    if (!queue.write) return queue.eligibleAt;
    const slot = queue.head;
    const hop = bursts.routes[slot]!.hops.length - 1;
    return Math.max(queue.eligibleAt, bursts.beats[bursts.beatBase(slot, hop) + this.nextBeat[place]![0]!]!);
  }

  private bankOf(queue: ForwardQueue, place: number): number {
    const slot = queue.head;
    return this.bankAt(slot, this.context.bursts.routes[slot]!.hops.length - 1, this.nextBeat[place]![0]!);
  }

  private bankAt(slot: number, hop: number, beat: number): number {
    const { bursts } = this.context;
    const size = bursts.routes[slot]!.hops[hop]!.beatBytes;
    const address = (Math.floor(bursts.address[slot]! / size) + beat) * size;
    return Math.floor(address / this.spec.interleaveBytes) % this.spec.banks;
  }

  /** Those who contend for a bank: each input, once for reads and once for writes, under the same name. */
  private contestants(): string[] {
    return [...this.inputs, ...this.inputs];
  }
}
