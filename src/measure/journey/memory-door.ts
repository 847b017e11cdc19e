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

  /** Whom the wait of an access that goes through now is due to, since `fromPs`; and what those behind it wait for. */
  charge(slot: number, element: number, memory: MemoryBooks, fromPs: number): void {
    const { books } = this;
    const { bursts, calendar } = books.context;
    const { charges } = books;
    const { now } = calendar;
    const master = bursts.master[slot]!;
    const { reads, writes, clock } = bursts.routes[slot]!.hops.at(-1)!;
    const write = bursts.op[slot] !== READ;
    const ahead = books.log((write ? writes : reads).place);
    const door = books.unitLog(element, write ? 1 : 0);
    const headed = ahead.end;
    charges.start(fromPs);
    if (headed > fromPs) charges.byLog(ahead, headed < now ? headed : now, master, element);
    const aligned = clock.edgeFrom(charges.at);
    charges.byLog(door, aligned < now ? aligned : now, master, element);
    // ready at an edge at which nobody went through: the queue was full
    if (charges.at < now) this.chargeFull(memory, door, element);
    charges.log(ahead);
    charges.addTo(books.wayIn, slot, Part.arbitration);
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

  /** Goes on up to now with whoever went through the door, else with whoever the channel served so that no place was free. */
  private chargeFull(memory: MemoryBooks, door: UseLog, element: number): void {
    const { charges, context } = this.books;
    const { now } = context.calendar;
    for (let entry = door.firstAfter(charges.at); entry < door.next; entry++) {
      const from = door.fromOf(entry);
      const to = door.toOf(entry);
      this.chargeChannel(memory, from < now ? from : now, element);
      charges.add(door.whoOf(entry), element, to < now ? to : now);
    }
    this.chargeChannel(memory, now, element);
  }

  /**
   * Goes on until `untilPs` with whoever the channel served: column command by column command up to the last one before now,
   * which made the place free that is taken, and from there on with that one still. One of this very instant may be known
   * or not yet.
   */
  private chargeChannel(memory: MemoryBooks, untilPs: number, element: number): void {
    const { charges } = this.books;
    if (untilPs <= charges.at) return;
    const { use } = memory;
    const end = use.nextEarlier;
    const by = use.isKept(end - 1) ? use.whoOf(end - 1) : REFRESH;
    charges.byEntries(use, end, untilPs, by, element);
  }
}
