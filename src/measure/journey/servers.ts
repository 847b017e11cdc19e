import { READ } from '../../model/bursts.js';
import type { Books } from './books.js';
import { Part } from './stage.js';

/** Devices and on-chip memories: elements whose servers or banks bursts take one after the other. */
export class Servers {
  constructor(private readonly books: Books) {}

  /** Server or bank `unit` is taken by a burst from now to `untilPs`. */
  taken(slot: number, element: number, unit: number, untilPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { chains, charges } = books;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    const arrived = this.arrivedAt(slot, now);
    const open = books.earlyHop(slot) < 0;
    if (open && !books.arrive(slot, element, arrived)) chains.reach(slot, Part.transfer, master, element, arrived);
    if (books.blames) {
      this.charge(slot, element, unit, open ? chains.end(slot) : arrived, untilPs);
      if (open) charges.addTo(chains, slot, Part.memoryQueue);
    } else if (open) {
      chains.reach(slot, Part.memoryQueue, master, element, now);
    }
    if (open) chains.reach(slot, Part.data, master, element, untilPs);
  }

  /** Whom its wait since `beganPs` is due to, and what those behind it wait for. */
  private charge(slot: number, element: number, unit: number, beganPs: number, untilPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { charges } = books;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    const { reads, writes } = bursts.routes[slot]!.hops.at(-1)!;
    const ahead = books.log((bursts.op[slot] === READ ? reads : writes).place);
    const server = books.unitLog(element, unit);
    const headed = ahead.end;
    charges.start(beganPs);
    if (headed > beganPs) charges.byLog(ahead, headed < now ? headed : now, master, element);
    charges.byLog(server, now, master, element);
    charges.log(ahead);
    server.add(now, untilPs, master, element, slot);
    // a bank is taken beat by beat out of the queue; a place that a burst at a server has left is seen from the next edge on
    const { kind, clock } = books.elements[element]!.base;
    ahead.add(now, kind === 'onchip' ? untilPs : clock.after(now, 1), master, element, slot);
  }

  /** When as much of it was there as is by now. */
  private arrivedAt(slot: number, now: number): number {
    const { bursts } = this.books.context;
    let arrived = bursts.usableAt[slot]!;
    if (bursts.op[slot] === READ) return arrived;
    const hop = bursts.routes[slot]!.hops.length - 1;
    const base = bursts.beatBase(slot, hop);
    for (let beat = base; beat < base + bursts.beatCount(slot, hop); beat++) {
      if (bursts.beats[beat]! > now) break;
      arrived = bursts.beats[beat]!;
    }
    return arrived;
  }
}
