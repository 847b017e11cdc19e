// Hot path: a few calls per burst and hop. Nothing is allocated.
import { READ } from '../../model/bursts.js';
import type { Books } from './books.js';
import { Part } from './stage.js';

/**
 * The way out: from the wish to the element that serves. Who waits in a queue waits for whoever heads it, and so for
 * whatever that one waits for; who heads it waits for whoever has the output, and where that finds no room beyond, for
 * whatever the head of the queue beyond waits for.
 */
export class WayOut {
  constructor(private readonly books: Books) {}

  /** The burst is at its port, wanted since `wantedAt`. */
  offered(slot: number): void {
    const { books } = this;
    const { bursts } = books.context;
    const master = bursts.master[slot]!;
    const { element } = bursts.routes[slot]!.hops[0]!;
    const wantedAt = bursts.wantedAt[slot]!;
    const offeredAt = bursts.offeredAt[slot]!;
    const followed = books.start(slot, wantedAt);
    books.setsOut(slot);
    if (!followed) return;
    // a core has looked it up in its own cache before
    if (books.hitCycles[master]! > 0) this.lookedUp(slot, offeredAt);
    else books.chains.add(slot, Part.sourceWait, master, element, offeredAt);
  }

  /** An access of a core went no further than its own cache, or waits there for a line that another has sent for. */
  inPrivateCache(slot: number, flight = -1): void {
    const { books } = this;
    const { bursts } = books.context;
    if (books.start(slot, bursts.wantedAt[slot]!, flight)) this.lookedUp(slot, bursts.usableAt[slot]!);
  }

  /** A core's access from its wish to the end of its lookup in the private cache, at `endPs`. */
  private lookedUp(slot: number, endPs: number): void {
    const { chains, context, masterClocks, hitCycles } = this.books;
    const master = context.bursts.master[slot]!;
    const { element } = context.bursts.routes[slot]!.hops[0]!;
    const clock = masterClocks[master]!;
    chains.reach(slot, Part.sourceWait, master, element, clock.at(clock.indexFrom(endPs) - hitCycles[master]!));
    chains.reach(slot, Part.lookup, master, element, endPs);
  }

  accepted(slot: number): void {
    const { books } = this;
    if (!books.sample.followed(slot)) return;
    const { bursts } = books.context;
    const { chains, charges } = books;
    const acceptedAt = bursts.acceptedAt[slot]!;
    if (acceptedAt === chains.end(slot)) return;
    const master = bursts.master[slot]!;
    const hop = bursts.routes[slot]!.hops[0]!;
    if (!books.sample.charged(slot)) {
      chains.add(slot, Part.port, master, hop.element, acceptedAt);
      return;
    }
    charges.start(chains.end(slot));
    books.log(books.queueOf(slot, 0).place).tellEarlier(charges, acceptedAt, master, hop.element);
    charges.addTo(chains.of(slot), Part.port);
  }

  /** A burst finds no room beyond, from `fromPs` on. */
  waits(slot: number, fromPs: number): void {
    const { stalledAt, blames } = this.books;
    if (blames && fromPs < stalledAt[slot]!) stalledAt[slot] = fromPs;
  }

  /** A burst that was to find no room from now on, or later, has found some. */
  findsRoom(slot: number): void {
    const { stalledAt, context } = this.books;
    if (stalledAt[slot]! >= context.calendar.now) stalledAt[slot] = Infinity;
  }

  /** The output `place` is granted to the head of a queue, until `eligibleAt` of that. */
  granted(slot: number, element: number, hop: number, place: number): void {
    const { books } = this;
    const followed = books.sample.followed(slot);
    if (followed || books.sample.noting) {
      const arrived = this.arrivedAt(slot, element, hop);
      const early = books.earlyHop(slot);
      if (books.sample.noting) this.note(slot, element, hop, place, arrived);
      if (followed && (early < 0 || hop < early)) this.waited(slot, element, hop, arrived);
    }
    if (books.blames) books.stalledAt[slot] = Infinity;
  }

  /** A head that is granted now, which is noted, has waited since it arrived. */
  private waited(slot: number, element: number, hop: number, arrived: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { chains } = books;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    const part = books.ports[element] === 1 ? Part.port : Part.arbitration;
    chains.reach(slot, Part.transfer, master, element, arrived);
    if (!books.sample.charged(slot)) chains.add(slot, part, master, element, now);
    else books.charge(chains.of(slot), books.log(books.queueOf(slot, hop).place), now, part, master, element);
  }

  /**
   * Notes what a head that is granted now has waited for since it arrived, or headed the queue, as have all behind it; and that
   * it has queue and output until it is gone.
   */
  private note(slot: number, element: number, hop: number, place: number, arrived: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    const queue = books.queueOf(slot, hop);
    const ahead = books.log(queue.place);
    const lane = books.log(place);
    const stalled = books.stalledAt[slot]!;
    ahead.refer(arrived, stalled < now ? stalled : now, lane, null, master, element);
    if (stalled < now) ahead.refer(arrived, now, lane, books.log(queue.target!.place), master, element);
    ahead.add(now, queue.eligibleAt, master, element, slot);
    lane.add(now, queue.eligibleAt, master, element, slot);
  }

  /** When the burst could act at an element: its address is there, or its first beat; at a port, all of it. */
  private arrivedAt(slot: number, element: number, hop: number): number {
    const { bursts } = this.books.context;
    const usable = bursts.usableAt[slot]!;
    if (this.books.collects[element] === 0 || bursts.op[slot] === READ) return usable;
    const last = bursts.beats[bursts.beatBase(slot, hop) + bursts.beatCount(slot, hop) - 1]!;
    return last > usable ? last : usable;
  }
}
