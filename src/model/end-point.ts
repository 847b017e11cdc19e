import { Element } from './element.js';
import { Pending, READ as READ_OP, WRITE as WRITE_OP } from './bursts.js';

const READ = READ_OP;
const WRITE = WRITE_OP;
const { forward: FORWARD } = Pending;

/** An element at which routes end: a memory, a device, a coherence unit. */
export abstract class EndPoint extends Element {
  protected sources(): readonly string[] {
    return [this.base.name];
  }

  /** A burst begins to be served here at its `enteredAt`, now or later; whoever tells ahead of time has `stale` told then. */
  protected noteEntry(slot: number): void {
    const { bursts, calendar, stale } = this.context;
    // fills and write-backs, numbered below zero, are the caches' own
    if (stale === null || bursts.number[slot]! < 0 || bursts.enteredAt[slot]! > calendar.now) return;
    const write = bursts.op[slot] === WRITE;
    stale.observe(bursts.master[slot]!, write, this.base.name, bursts.address[slot]!, bursts.bytes[slot]!);
  }

  /**
   * A write is accepted as final at its `finalAt`, later than now or in an earlier phase: it is answered, unless an element
   * on its way did so early, and its slot is free as far as the way forward is concerned.
   */
  protected acceptWrite(slot: number): void {
    const { bursts } = this.context;
    const route = bursts.routes[slot]!;
    const hop = route.hops.length - 1;
    if (route.early) {
      this.context.finals.accepted(slot, bursts.master[slot]!, bursts.finalAt[slot]!);
    } else {
      bursts.responseAt[slot * bursts.hops + hop] = bursts.finalAt[slot]!;
      route.hops[hop]!.writeLane.offer(slot, hop);
    }
    bursts.settle(slot, FORWARD);
  }

  /** Notes when a beat of a read's data is usable on the way back; `returned` tells of it. */
  protected setBeat(slot: number, beat: number, timePs: number): void {
    const { bursts } = this.context;
    bursts.beats[bursts.beatBase(slot, bursts.routes[slot]!.hops.length - 1) + beat] = timePs;
  }

  /**
   * It is known when beats `first` to `last` of a read's data are usable. Beats may become known in any order; the lane is
   * told when the next one in address order is.
   */
  protected returned(slot: number, first: number, last: number): void {
    const { bursts } = this.context;
    const hop = bursts.routes[slot]!.hops.length - 1;
    const at = slot * bursts.hops + hop;
    const next = bursts.sent[at]!;
    if (next < first || last < next) return;
    const lane = bursts.routes[slot]!.hops[hop]!.readLane;
    if (bursts.announced[at] === 1) {
      lane.more(slot, hop);
    } else {
      bursts.announced[at] = 1;
      lane.offer(slot, hop);
    }
  }

  protected isRead(slot: number): boolean {
    return this.context.bursts.op[slot] === READ;
  }
}
