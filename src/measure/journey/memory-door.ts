// Hot path: once per column access. Nothing is allocated.
import { READ } from '../../model/bursts.js';
import type { Access } from '../../model/dram/access.js';
import type { DdrController } from '../../model/dram/controller.js';
import { type Books, REFRESH } from './books.js';
import type { MemoryBooks } from './memory-books.js';
import { Part } from './stage.js';
import type { UseLog } from './use-log.js';

/**
 * The door of a memory controller, where bursts are cut into accesses: who is there waits for those in front of it, for who
 * goes through, and while the queue behind is full for whoever the channel serves.
 */
export class MemoryDoor {
  constructor(private readonly books: Books) {}

  /** An access goes through now, of which the piece before has passed at `fromPs`: whom it has waited for since. */
  passes(slot: number, element: number, memory: MemoryBooks, fromPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { charges, wayIn } = books;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    if (!books.charged(slot)) {
      wayIn.reach(slot, Part.arbitration, master, element, now);
      return;
    }
    const ahead = this.queueOf(slot);
    const door = this.doorOf(slot, element);
    const headed = ahead.end;
    charges.start(fromPs);
    if (headed > fromPs) ahead.tell(charges, headed < now ? headed : now, master, element);
    const aligned = books.elements[element]!.base.clock.edgeFrom(charges.at);
    door.tell(charges, aligned < now ? aligned : now, master, element);
    // ready at an edge at which nobody went through: the queue was full
    if (charges.at < now) door.tellBoth(charges, memory.use, now, lastServed(memory), element);
    charges.addTo(wayIn.of(slot), Part.arbitration);
  }

  /** Notes what those behind have waited for since `fromPs`, and will until the next edge. */
  note(slot: number, element: number, memory: MemoryBooks, fromPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { now } = calendar;
    const { clock } = books.elements[element]!.base;
    const master = bursts.master[slot]!;
    const ahead = this.queueOf(slot);
    const door = this.doorOf(slot, element);
    const headed = ahead.end;
    const aligned = clock.edgeFrom(headed > fromPs ? headed : fromPs);
    ahead.refer(fromPs, aligned < now ? aligned : now, door, door.next, master, element);
    if (aligned < now) ahead.referToBoth(fromPs, now, door, memory.use, lastServed(memory), element);
    const until = clock.after(now, 1);
    ahead.add(now, until, master, element, slot);
    door.add(now, until, master, element, slot);
  }

  /** When the data of a write's access was all at the controller. */
  dataAt(slot: number, element: number, { piece, high }: Access): number {
    const { bursts } = this.books.context;
    const { accessBytes } = (this.books.elements[element] as DdrController).mapping;
    const hop = bursts.routes[slot]!.hops.length - 1;
    const size = bursts.routes[slot]!.hops[hop]!.beatBytes;
    const start = bursts.start[slot]!;
    const block = Math.floor(start / accessBytes) + piece;
    const beat = Math.floor((block * accessBytes + high - 1) / size) - Math.floor(start / size);
    return bursts.beats[bursts.beatBase(slot, hop) + beat]!;
  }

  private queueOf(slot: number): UseLog {
    const { bursts } = this.books.context;
    const { reads, writes } = bursts.routes[slot]!.hops.at(-1)!;
    return this.books.log((bursts.op[slot] === READ ? reads : writes).place);
  }

  private doorOf(slot: number, element: number): UseLog {
    return this.books.unitLog(element, this.books.context.bursts.op[slot] === READ ? 0 : 1);
  }
}

/**
 * Whom the channel served last before this instant: that made the place free which is taken now, and who waits for it waits
 * from there on for that one still. Refresh, where it has served nobody.
 */
function lastServed({ use }: MemoryBooks): number {
  const last = use.nextEarlier - 1;
  return use.isKept(last) ? use.whoOf(last) : REFRESH;
}
