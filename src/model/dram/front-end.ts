// Hot path: one decision per column access and direction. Nothing is allocated per decision.
import type { Actor } from '../../engine/calendar.js';
import { Phase } from '../../engine/phase.js';
import type { DdrSpec } from '../../scenario/scenario.js';
import { Arbiter } from '../arbiter.js';
import { shiftOf } from '../bursts.js';
import type { Context } from '../context.js';
import type { ElementBase } from '../element.js';
import type { ForwardQueue } from '../forward-queue.js';
import type { Entries } from './entries.js';
import type { Mapping } from './mapping.js';

/** Where the accesses of a front end go. */
export interface FrontEndOwner {
  /**
   * Access number `piece` of the burst at the head of `queue`, its bytes [low, high) of the DRAM burst at the place
   * that the input's mapping holds, goes into the pipeline at edge `edge` of the controller's clock.
   */
  cut(queue: ForwardQueue, slot: number, piece: number, low: number, high: number, edge: number): void;
}

/**
 * One direction of a controller's front end: picks among the inputs again after every `grain`, and cuts the burst at the
 * head of the chosen one into aligned column accesses, one a cycle in address order, each as soon as its channel has a
 * free entry (and, for a write, its data are in).
 */
export class FrontEnd implements Actor {
  private readonly arbiter: Arbiter;
  private readonly carrier: number;
  private readonly grain: number;
  private readonly shift: number;
  /** By input: the next byte to cut and the end of its access, from the start of their block of 4 KiB; its channel. */
  private readonly nextByte: Int32Array;
  private readonly endByte: Int32Array;
  private readonly channel: Int32Array;
  private holder = -1;
  private grainLeft = 0;
  private freeEdge = 0;
  private blocked = false;

  /** @param entries by channel: the places that this direction's accesses take */
  constructor(
    private readonly context: Context,
    private readonly base: ElementBase,
    spec: DdrSpec,
    private readonly queues: readonly ForwardQueue[],
    inputs: readonly string[],
    private readonly write: boolean,
    /** By input. */
    private readonly mappings: readonly Mapping[],
    private readonly entries: readonly Entries[],
    private readonly owner: FrontEndOwner,
  ) {
    this.arbiter = new Arbiter(spec.arbitration, inputs, context.bursts);
    const { accessBytes } = mappings[0]!;
    this.grain = Math.max(1, Math.floor(spec.grainBytes / accessBytes));
    this.shift = shiftOf(accessBytes);
    this.nextByte = new Int32Array(queues.length);
    this.endByte = new Int32Array(queues.length);
    this.channel = new Int32Array(queues.length);
    this.carrier = context.calendar.carrier(this, 0, Phase.decide);
  }

  /** A burst has come to the head of the queue of an input. */
  headed(input: number): void {
    this.step(input, this.context.bursts.start[this.queues[input]!.head]!);
    this.kick(this.readyAt(input));
  }

  /** An entry of some channel is free right after now. */
  freed(): void {
    if (!this.blocked) return;
    this.blocked = false;
    this.kick(this.context.calendar.now + 1);
  }

  wake(): void {
    const { calendar } = this.context;
    const now = calendar.now;
    const edge = this.base.clock.indexFrom(now);
    if (edge < this.freeEdge) {
      calendar.arm(this.carrier, this.base.clock.at(this.freeEdge));
      return;
    }
    const input = this.choose(now, edge);
    if (input >= 0) this.cut(input, edge);
    this.sleep(now, edge);
  }

  private kick(timePs: number): void {
    this.wakeAt(this.base.clock.indexFrom(timePs));
  }

  private wakeAt(edge: number): void {
    this.context.calendar.armBy(this.carrier, this.base.clock.at(edge > this.freeEdge ? edge : this.freeEdge));
  }

  /** The input whose next access goes now: the holder within its grain, else the arbiter's choice; −1 for none. */
  private choose(now: number, edge: number): number {
    const { arbiter, queues, context } = this;
    arbiter.begin(now, edge);
    const { holder } = this;
    if (holder >= 0 && this.canGo(holder, now) && arbiter.opensIn(holder, 1) === 0) return holder;
    for (let input = 0; input < queues.length; input++) {
      if (!this.canGo(input, now) || arbiter.opensIn(input, 1) > 0) continue;
      const slot = queues[input]!.head;
      arbiter.consider(input, slot, context.bursts.usableAt[slot]!, 1);
    }
    // with nobody to go the holder stays: it may be awake by chance, for a place that is of no use to anyone
    if (arbiter.pick() < 0) return -1;
    this.holder = arbiter.picked;
    this.grainLeft = this.grain;
    return this.holder;
  }

  private canGo(input: number, now: number): boolean {
    if (this.readyAt(input) > now) return false;
    if (this.entries[this.channel[input]!]!.hasRoom(now)) return true;
    this.context.probe.waits(this.queues[input]!.head, this.base.index, -1);
    return false;
  }

  /** When the next access of an input is there; Infinity where none is. */
  private readyAt(input: number): number {
    const { bursts } = this.context;
    const slot = this.queues[input]!.head;
    if (slot < 0) return Infinity;
    if (!this.write) return bursts.usableAt[slot]!;
    const hop = bursts.hop[slot]!;
    const shift = shiftOf(bursts.routes[slot]!.hops[hop]!.beatBytes);
    const beat = ((this.endByte[input]! - 1) >> shift) - (bursts.start[slot]! >> shift);
    return bursts.beats[bursts.beatBase(slot, hop) + beat]!;
  }

  /** Looks up the access of the head that starts at `byte`. */
  private step(input: number, byte: number): void {
    const { bursts } = this.context;
    const slot = this.queues[input]!.head;
    const end = bursts.start[slot]! + bursts.bytes[slot]!;
    const aligned = ((byte >> this.shift) + 1) << this.shift;
    this.nextByte[input] = byte;
    this.endByte[input] = aligned < end ? aligned : end;
    const mapping = this.mappings[input]!;
    mapping.decode(bursts.address[slot]! - bursts.start[slot]! + byte);
    this.channel[input] = mapping.channel;
  }

  private cut(input: number, edge: number): void {
    const { bursts } = this.context;
    const { base } = this;
    const queue = this.queues[input]!;
    const slot = queue.head;
    const start = bursts.start[slot]!;
    const byte = this.nextByte[input]!;
    const end = this.endByte[input]!;
    const block = byte >> this.shift;
    const low = block << this.shift;
    // `step` has looked up its place
    this.entries[this.channel[input]!]!.take();
    this.freeEdge = edge + 1;
    this.owner.cut(queue, slot, block - (start >> this.shift), byte - low, end - low, edge);
    if (--this.grainLeft === 0) this.holder = -1;
    if (end < start + bursts.bytes[slot]!) {
      this.step(input, end);
      return;
    }
    this.holder = -1;
    queue.pop();
    queue.release(base.clock.at(edge + 1));
    if (queue.length > 0) this.step(input, bursts.start[queue.head]!);
  }

  /** Arms the next decision: when an input is ready, when a slot opens, or when an entry is free. */
  private sleep(now: number, edge: number): void {
    const { clock } = this.base;
    let next = Infinity;
    for (let input = 0; input < this.queues.length; input++) {
      const readyPs = this.readyAt(input);
      if (readyPs === Infinity) continue;
      let from = 0;
      if (readyPs > now) {
        from = clock.indexFrom(readyPs);
      } else {
        const entries = this.entries[this.channel[input]!]!;
        if (!entries.hasRoom(now) && !entries.soon) {
          this.blocked = true;
          continue;
        }
        const wait = this.arbiter.opensIn(input, 1);
        from = edge + (wait > 1 ? wait : 1);
      }
      if (from < next) next = from;
    }
    if (next < Infinity) this.wakeAt(next);
  }
}
