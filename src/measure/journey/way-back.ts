// Hot path: one call per run of beats and hop, one per burst that is done. Nothing is allocated.
import { READ } from '../../model/bursts.js';
import type { Books } from './books.js';
import { Part } from './stage.js';

/**
 * The way back, from where the answer is ready to the master. At each lane a burst has waited as much longer than it would
 * have alone: the lane was had by others, or it was not the turn of its ID.
 */
export class WayBack {
  constructor(private readonly books: Books) {}

  /** Beats of a burst leave an element, `cycles` of them in a row from `edge` on. */
  sent(slot: number, hop: number, edge: number, cycles: number, last: boolean): void {
    const { books } = this;
    const followed = books.sample.followed(slot);
    if (!followed && !books.sample.noting) return;
    const { bursts } = books.context;
    const { clock, readLane, writeLane, element } = bursts.routes[slot]!.hops[hop]!;
    if (last && followed) books.leftAt[slot * bursts.hops + hop] = clock.at(edge + cycles - 1);
    if (!books.sample.noting) return;
    const lane = bursts.op[slot] === READ ? readLane : writeLane;
    books.log(lane.place).add(clock.at(edge), clock.at(edge + cycles), bursts.master[slot]!, element, slot);
  }

  /** A burst is done: its journey is whole. */
  completed(slot: number): void {
    const { chains, context } = this.books;
    if (!this.books.sample.followed(slot)) return;
    const { bursts } = context;
    const master = bursts.master[slot]!;
    const { hops, immediate } = bursts.routes[slot]!;
    const doneAt = bursts.doneAt[slot]!;
    const { element } = hops[0]!;
    if (!immediate) {
      if (this.books.travelsAsRead(slot)) this.readBack(slot);
      else this.responseBack(slot);
    }
    chains.reach(slot, immediate ? Part.data : Part.returnTransfer, master, element, doneAt);
  }

  private readBack(slot: number): void {
    const { chains, context } = this.books;
    const { bursts } = context;
    const { hops } = bursts.routes[slot]!;
    const master = bursts.master[slot]!;
    for (let hop = hops.length - 1; hop >= 0; hop--) {
      const { element } = hops[hop]!;
      const base = bursts.beatBase(slot, hop);
      const last = base + bursts.beatCount(slot, hop) - 1;
      const here = hop === hops.length - 1 ? latest(bursts.beats, base, last) : bursts.beats[last]!;
      chains.reach(slot, hop === hops.length - 1 ? Part.data : Part.returnTransfer, master, element, here);
      const left = this.books.leftAt[slot * bursts.hops + hop]!;
      const alone = this.leavesAlone(slot, hop, base, last, left);
      this.waited(slot, hop, bursts.beats[base]!, left, left - alone);
    }
  }

  /** When the last beat would have left if the burst had had the lane to itself. */
  private leavesAlone(slot: number, hop: number, base: number, last: number, left: number): number {
    const { bursts } = this.books.context;
    const { clock } = bursts.routes[slot]!.hops[hop]!;
    const { beats } = bursts;
    let edge = clock.indexFrom(beats[last]!);
    // most leave as they come
    if (clock.at(edge) === left) return left;
    edge = clock.indexFrom(beats[base]!);
    for (let beat = base + 1; beat <= last; beat++) {
      const comes = clock.indexFrom(beats[beat]!);
      edge = comes > edge ? comes : edge + 1;
    }
    return clock.at(edge);
  }

  private responseBack(slot: number): void {
    const { books } = this;
    const { chains, context } = books;
    const { bursts } = context;
    const { hops } = bursts.routes[slot]!;
    const master = bursts.master[slot]!;
    const early = books.earlyHop(slot);
    const top = early < 0 ? hops.length - 1 : early;
    for (let hop = top; hop >= 0; hop--) {
      const { element, clock } = hops[hop]!;
      const at = slot * bursts.hops + hop;
      const here = bursts.responseAt[at]!;
      chains.reach(slot, hop === top ? Part.transfer : Part.returnTransfer, master, element, here);
      const left = books.leftAt[at]!;
      this.waited(slot, hop, here, left, left - clock.edgeFrom(here));
    }
  }

  /** The burst waited `waitPs` at a lane between two instants: whoever had the lane then, the latest first, is to blame. */
  private waited(slot: number, hop: number, fromPs: number, leftPs: number, waitPs: number): void {
    if (waitPs <= 0) return;
    const { books } = this;
    const { chains, context } = books;
    const { bursts } = context;
    const { element, readLane, writeLane } = bursts.routes[slot]!.hops[hop]!;
    const until = chains.end(slot) + waitPs;
    if (books.sample.charged(slot)) {
      const log = books.log((books.travelsAsRead(slot) ? readLane : writeLane).place);
      const first = log.firstAfter(fromPs, log.next);
      for (let entry = log.next - 1; entry >= first && chains.end(slot) < until; entry--) {
        if (log.slotOf(entry) === slot) continue;
        const from = log.fromOf(entry) > fromPs ? log.fromOf(entry) : fromPs;
        const to = log.toOf(entry) < leftPs ? log.toOf(entry) : leftPs;
        if (to <= from) continue;
        const end = chains.end(slot) + to - from;
        chains.add(slot, Part.returnArbitration, log.whoOf(entry), element, end < until ? end : until);
      }
    }
    chains.reach(slot, Part.returnArbitration, bursts.master[slot]!, element, until);
  }
}

function latest(beats: Float64Array, base: number, last: number): number {
  let at = beats[base]!;
  for (let beat = base + 1; beat <= last; beat++) if (beats[beat]! > at) at = beats[beat]!;
  return at;
}
