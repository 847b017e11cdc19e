// Hot path: once per column access. Nothing is allocated.
import { READ } from '../../model/bursts.js';
import type { Access } from '../../model/dram/access.js';
import type { DdrController } from '../../model/dram/controller.js';
import { type Books, REFRESH } from './books.js';
import type { MemoryBooks } from './memory-books.js';

/**
 * The door of a memory controller, where bursts are cut into accesses: who is there waits for those in front of it, for who
 * goes through, and while the queue behind is full for whoever the channel serves.
 */
export class MemoryDoor {
  constructor(private readonly books: Books) {}

  /** Notes what an access that goes through now has waited for since `fromPs`, as have all behind it, and will until the next edge. */
  note(slot: number, element: number, memory: MemoryBooks, fromPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { now } = calendar;
    const { clock } = books.elements[element]!.base;
    const master = bursts.master[slot]!;
    const ahead = books.lastQueue(slot);
    const door = books.unitLog(element, bursts.op[slot] === READ ? 0 : 1);
    const headed = ahead.end;
    const aligned = clock.edgeFrom(headed > fromPs ? headed : fromPs);
    ahead.refer(fromPs, aligned < now ? aligned : now, door, null, master, element);
    // ready at an edge at which nobody went through: the queue was full
    if (aligned < now) ahead.refer(fromPs, now, door, memory.use, lastServed(memory), element);
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
}

/**
 * Whom the channel served last before this instant: that made the place free which is taken now, and who waits for it waits
 * from there on for that one still. Refresh, where it has served nobody.
 */
function lastServed({ use }: MemoryBooks): number {
  const last = use.nextEarlier - 1;
  return use.isKept(last) ? use.whoOf(last) : REFRESH;
}
