import { READ } from '../../model/bursts.js';
import type { Books } from './books.js';
import { Part } from './stage.js';

/** Devices and on-chip memories: elements whose servers or banks bursts take one after the other. */
export class Servers {
  constructor(private readonly books: Books) {}

  /** Server or bank `unit` is taken by a burst from now to `untilPs`. */
  taken(slot: number, element: number, unit: number, untilPs: number): void {
    const { books } = this;
    const followed = books.sample.followed(slot);
    if (!followed && !books.blames) return;
    const arrived = this.arrivedAt(slot, books.context.calendar.now);
    if (books.sample.noting) this.note(slot, element, unit, arrived, untilPs);
    else if (books.blames) this.remember(slot, element, unit, untilPs);
    if (followed && books.earlyHop(slot) < 0) this.serve(slot, element, arrived, untilPs);
  }

  /** As much of a burst that is followed as there is, since `arrived`, is served from now to `untilPs`. */
  private serve(slot: number, element: number, arrived: number, untilPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { chains } = books;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    if (!books.arrive(slot, element, arrived)) chains.reach(slot, Part.transfer, master, element, arrived);
    if (!books.sample.charged(slot)) chains.reach(slot, Part.memoryQueue, master, element, now);
    else books.charge(chains.of(slot), books.lastQueue(slot), now, Part.memoryQueue, master, element);
    chains.reach(slot, Part.data, master, element, untilPs);
  }

  /** Notes what it has waited for since it arrived, as have all behind it, and that the server or bank is taken until `untilPs`. */
  private note(slot: number, element: number, unit: number, arrived: number, untilPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    const ahead = books.lastQueue(slot);
    const server = books.unitLog(element, unit);
    ahead.refer(arrived, now, server, null, master, element);
    server.add(now, untilPs, master, element, slot);
    ahead.add(now, this.leavesAt(element, untilPs), master, element, slot);
  }

  /** Nobody asks now, but someone may before the server is free. */
  private remember(slot: number, element: number, unit: number, untilPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    books.unitLog(element, unit).hold(now, untilPs, master, element, slot);
    books.lastQueue(slot).hold(now, this.leavesAt(element, untilPs), master, element, slot);
  }

  /** A bank is taken beat by beat out of the queue; a place that a burst at a server has left is seen from the next edge on. */
  private leavesAt(element: number, untilPs: number): number {
    const { kind, clock } = this.books.elements[element]!.base;
    return kind === 'onchip' ? untilPs : clock.after(this.books.context.calendar.now, 1);
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
