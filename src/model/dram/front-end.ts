// Hot path: one decision per column access and direction. Nothing is allocated per decision.
import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
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

/** What a front end keeps of one input: a record, as a field of it is cheaper to reach than an element of a column. */
class Feed {
  /** The next byte of the head to cut and the end of its access, from the start of their block of 4 KiB. */
  nextByte = 0;
  endByte = 0;

  constructor(
    readonly queue: ForwardQueue,
    readonly mapping: Mapping,
    /** The places in the channel of that access. */
    public entries: Entries,
  ) {}
}

/**
 * One direction of a controller's front end: picks among the inputs again after every `grain`, and cuts the burst at the
 * head of the chosen one into aligned column accesses, one a cycle in address order, each as soon as its channel has a
 * free entry (and, for a write, its data are in).
 */
export class FrontEnd implements Actor {
  private readonly arbiter: Arbiter;
  private readonly carrier: Carrier;
  private readonly grain: number;
  private readonly shift: number;
  private readonly feeds: readonly Feed[];
  /** Is there nobody to choose among, nor a slot to wait for? */
  private readonly alone: boolean;
  private holder = -1;
  private grainLeft = 0;
  private freeEdge = 0;
  private blocked = false;

  /** @param entries by channel: the places that this direction's accesses take */
  constructor(
    private readonly context: Context,
    private readonly base: ElementBase,
    spec: DdrSpec,
    queues: readonly ForwardQueue[],
    inputs: readonly string[],
    private readonly write: boolean,
    /** By input. */
    mappings: readonly Mapping[],
    private readonly entries: readonly Entries[],
    private readonly owner: FrontEndOwner,
  ) {
    this.arbiter = new Arbiter(spec.arbitration, inputs, context.bursts);
    const { accessBytes } = mappings[0]!;
    this.grain = Math.max(1, Math.floor(spec.grainBytes / accessBytes));
    this.shift = shiftOf(accessBytes);
    this.feeds = queues.map((queue, input) => new Feed(queue, mappings[input]!, entries[0]!));
    this.alone = queues.length === 1 && !this.arbiter.weighsLength;
    this.carrier = context.calendar.carrier(this, 0, Phase.decide);
  }

  /** A burst has come to the head of the queue of an input. */
  headed(input: number): void {
    const feed = this.feeds[input]!;
    this.step(feed, this.context.bursts.start[feed.queue.head]!);
    this.wakeAt(this.base.clock.indexFrom(this.readyAt(feed)));
  }

  /** An entry of some channel is free right after now. */
  freed(): void {
    if (!this.blocked) return;
    this.blocked = false;
    this.wakeAt(this.base.clock.indexFrom(this.context.calendar.now + 1));
  }

  wake(): void {
    const { calendar } = this.context;
    const now = calendar.now;
    const edge = this.base.clock.indexFrom(now);
    if (edge < this.freeEdge) {
      calendar.arm(this.carrier, this.base.clock.at(this.freeEdge));
      return;
    }
    const input = this.alone ? this.onlyOne() : this.choose(edge);
    if (input >= 0) this.cut(this.feeds[input]!, edge);
    this.sleep(edge);
  }

  private wakeAt(edge: number): void {
    this.context.calendar.armBy(this.carrier, this.base.clock.at(edge > this.freeEdge ? edge : this.freeEdge));
  }

  /** The input whose next access goes now: the holder within its grain, else the arbiter's choice; −1 for none. */
  private choose(edge: number): number {
    const { arbiter, feeds, context } = this;
    arbiter.begin(context.calendar, edge);
    const { holder } = this;
    if (holder >= 0 && this.canGo(feeds[holder]!) && arbiter.opensIn(holder, 1) === 0) return holder;
    for (let input = 0; input < feeds.length; input++) {
      if (!this.canGo(feeds[input]!) || arbiter.opensIn(input, 1) > 0) continue;
      const slot = feeds[input]!.queue.head;
      arbiter.consider(input, slot, context.bursts.usableAt, slot, 1);
    }
    // with nobody to go the holder stays: it may be awake by chance, for a place that is of no use to anyone
    if (arbiter.pick() < 0) return -1;
    this.holder = arbiter.picked;
    this.grainLeft = this.grain;
    return this.holder;
  }

  /** The same where there is but one input: it holds its turn for ever. */
  private onlyOne(): number {
    this.grainLeft = this.grain;
    return this.canGo(this.feeds[0]!) ? 0 : -1;
  }

  private canGo(feed: Feed): boolean {
    const { now } = this.context.calendar;
    return this.readyAt(feed) <= now && feed.entries.hasRoom(now);
  }

  /** When the next access of an input is there; Infinity where none is. */
  private readyAt(feed: Feed): number {
    const { bursts } = this.context;
    const slot = feed.queue.head;
    if (slot < 0) return Infinity;
    if (!this.write) return bursts.usableAt[slot]!;
    const hop = bursts.hop[slot]!;
    const shift = shiftOf(bursts.routes[slot]!.hops[hop]!.beatBytes);
    const beat = ((feed.endByte - 1) >> shift) - (bursts.start[slot]! >> shift);
    return bursts.beats[bursts.beatBase(slot, hop) + beat]!;
  }

  /** Looks up the access of the head that starts at `byte`. */
  private step(feed: Feed, byte: number): void {
    const { bursts } = this.context;
    const { queue, mapping } = feed;
    const slot = queue.head;
    const start = bursts.start[slot]!;
    const end = start + bursts.bytes[slot]!;
    const aligned = ((byte >> this.shift) + 1) << this.shift;
    feed.nextByte = byte;
    feed.endByte = aligned < end ? aligned : end;
    mapping.decodeBeyond(bursts.address, slot, byte - start);
    feed.entries = this.entries[mapping.channel]!;
  }

  private cut(feed: Feed, edge: number): void {
    const { bursts } = this.context;
    const { queue, nextByte, endByte } = feed;
    const slot = queue.head;
    const start = bursts.start[slot]!;
    const block = nextByte >> this.shift;
    const low = block << this.shift;
    // `step` has looked up its place
    feed.entries.take();
    this.freeEdge = edge + 1;
    this.owner.cut(queue, slot, block - (start >> this.shift), nextByte - low, endByte - low, edge);
    if (--this.grainLeft === 0) this.holder = -1;
    if (endByte < start + bursts.bytes[slot]!) {
      this.step(feed, endByte);
      return;
    }
    this.holder = -1;
    queue.pop();
    queue.release(this.base.clock.at(edge + 1));
    if (queue.length > 0) this.step(feed, bursts.start[queue.head]!);
  }

  /** Arms the next decision: when an input is ready, when a slot opens, or when an entry is free. */
  private sleep(edge: number): void {
    const { clock } = this.base;
    const { now } = this.context.calendar;
    let next = Infinity;
    for (let input = 0; input < this.feeds.length; input++) {
      const feed = this.feeds[input]!;
      const readyPs = this.readyAt(feed);
      if (readyPs === Infinity) continue;
      let from = 0;
      if (readyPs > now) {
        from = clock.indexFrom(readyPs);
      } else {
        const { entries } = feed;
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
