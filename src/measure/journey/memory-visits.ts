// Hot path: four calls per column access. Nothing is allocated.
import { Clock } from '../../engine/clock.js';
import { READ } from '../../model/bursts.js';
import { type Access, RowState } from '../../model/dram/access.js';
import type { Channel } from '../../model/dram/channel.js';
import { DdrController } from '../../model/dram/controller.js';
import { type Books, NOBODY, REFRESH } from './books.js';
import { MemoryBooks } from './memory-books.js';
import { MemoryDoor } from './memory-door.js';
import { Part } from './stage.js';
import { holderOf } from './timer-holder.js';

/**
 * DRAM: through the door of the controller into the queue, and from there to the data. In the queue an access waits for
 * whoever the channel serves, column command by column command; from the last of them to its own first command it waits
 * for whoever set the timer that expires last.
 */
export class MemoryVisits {
  /** By element, then by channel. */
  private readonly memories: (MemoryBooks[] | undefined)[];
  private readonly door: MemoryDoor;

  constructor(private readonly books: Books) {
    this.door = new MemoryDoor(books);
    this.memories = books.elements.map((element) => {
      if (!(element instanceof DdrController)) return undefined;
      const { tckNumerator, tckDenominator, nRP } = element.timing;
      const clock = new Clock(element.base.name, tckNumerator, tckDenominator);
      return element.dram.map((channel) => new MemoryBooks(channel, clock, clock.at(nRP), books.context.calendar));
    });
  }

  /** An access of a burst goes through the door, now; with the last one of a write the burst has been taken. */
  cut(slot: number, element: number, channel: Channel, entering: Access, last: boolean): void {
    const { books } = this;
    const { bursts } = books.context;
    const memory = this.memories[element]![channel.number]!;
    const { chains } = memory;
    const access = entering.number;
    const master = bursts.master[slot]!;
    const write = bursts.op[slot] !== READ;
    memory.owner[access] = master;
    memory.found[access] = RowState.unknown;
    memory.number[access] = write ? NaN : bursts.number[slot]!;
    const arrived = write ? this.door.dataAt(slot, element, entering) : bursts.usableAt[slot]!;
    const open = books.earlyHop(slot) < 0;
    if (open) books.arrive(slot, element, bursts.usableAt[slot]!);
    chains.start(access, arrived);
    if (books.blames) this.door.charge(slot, element, memory, access, arrived);
    else chains.add(access, Part.arbitration, master, element, books.context.calendar.now);
    chains.reach(access, Part.transfer, master, element, entering.enteredAt);
    if (!write || !last || !open) return;
    books.chains.cutBack(slot);
    books.chains.reach(slot, Part.transfer, master, element, arrived);
    books.chains.follow(slot, chains, access);
  }

  /** The first command for an access is chosen, by what it found. */
  chosen(element: number, channel: Channel, queued: Access, found: number, clock: number): void {
    const memory = this.memories[element]![channel.number]!;
    const access = queued.number;
    const bank = queued.bank.index;
    const owner = memory.owner[access]!;
    memory.firstAt[access] = memory.clock.at(clock);
    memory.found[access] = found;
    if (this.books.blames) memory.heldBy[access] = holderOf(memory, queued, found, clock);
    if (found === RowState.conflict) memory.closesRow(access, bank);
    if (found !== RowState.hit) memory.opens(access, bank);
    // a write's slot may be free by now, and its opening is nobody's to share
    else if (queued.direction === 0) {
      memory.sharesOpening(access, bank, this.books.context.bursts.usableAt[queued.burst]!);
    }
    if (found === RowState.empty) memory.lastActivate = owner;
    memory.user[bank] = owner;
    memory.lastUser = owner;
  }

  /** An access has its column command at `clock`, or was answered from the write queue; a read is ready at `readyPs`. */
  served(element: number, channel: Channel, queued: Access, clock: number, readyPs: number): void {
    const { books } = this;
    const memory = this.memories[element]![channel.number]!;
    const access = queued.number;
    const columnPs = memory.clock.at(clock);
    if (queued.direction === 0) this.finish(element, memory, queued, columnPs, readyPs);
    if (memory.found[access] === RowState.unknown) return;
    const owner = memory.owner[access]!;
    const bank = queued.bank.index;
    memory.lastColumn = owner;
    memory.lastUser = owner;
    memory.user[bank] = owner;
    if (!books.blames) return;
    // until its first command the channel was still with whoever held that up
    const { enteredAt } = queued;
    const firstPs = memory.firstAt[access]!;
    memory.had(enteredAt, firstPs < columnPs ? firstPs : columnPs, memory.heldBy[access]!, element, bank);
    memory.had(enteredAt, columnPs, owner, element, bank);
  }

  /** A rank, or a bank, was kept for refresh from one clock to another, the command itself at clock `at`. */
  refreshed(element: number, channel: Channel, rank: number, bank: number, from: number, to: number, at: number): void {
    this.memories[element]![channel.number]!.refreshed(rank, bank, from, to, at);
  }

  /** A read's access is back: if none of its burst's is later, the burst's time is that of this one. */
  private finish(element: number, memory: MemoryBooks, queued: Access, columnPs: number, readyPs: number): void {
    const { books } = this;
    const { chains } = books;
    const { number: access, burst: slot, piece } = queued;
    if (!books.isLast(slot, piece, readyPs)) return;
    const bank = queued.bank.index;
    const owner = memory.owner[access]!;
    const found = memory.found[access]!;
    const firstPs = found === RowState.unknown ? columnPs : memory.firstAt[access]!;
    chains.follow(slot, memory.chains, access);
    const held = found === RowState.unknown ? owner : memory.heldBy[access]!;
    this.goesOn(slot, element, memory, bank, Part.memoryQueue, firstPs, held);
    if (found === RowState.conflict) {
      const closed = firstPs + memory.prechargePs;
      const until = closed < columnPs ? closed : columnPs;
      this.goesOn(slot, element, memory, bank, Part.closing, until, memory.closes[access]!);
    }
    this.goesOn(slot, element, memory, bank, Part.opening, columnPs, owner);
    chains.reach(slot, Part.data, owner, element, readyPs);
  }

  /** Goes on until `untilPs` in `part`, but for the times at which the access's bank is kept for refresh. */
  private goesOn(
    slot: number,
    element: number,
    memory: MemoryBooks,
    bank: number,
    part: number,
    untilPs: number,
    culprit: number,
  ): void {
    const { chains } = this.books;
    for (let n = memory.firstRefresh(chains.end(slot)); n < memory.nextRefresh; n++) {
      const from = memory.fromOf(n);
      if (from >= untilPs || !memory.keepsOut(n, bank)) continue;
      const to = memory.toOf(n);
      if (from > chains.end(slot)) this.waits(slot, element, memory, part, from, culprit);
      chains.reach(slot, Part.refresh, REFRESH, element, to < untilPs ? to : untilPs);
    }
    if (untilPs > chains.end(slot)) this.waits(slot, element, memory, part, untilPs, culprit);
  }

  private waits(
    slot: number,
    element: number,
    memory: MemoryBooks,
    part: number,
    untilPs: number,
    culprit: number,
  ): void {
    const { chains, charges, context } = this.books;
    const owner = context.bursts.master[slot]!;
    const by = culprit === NOBODY ? owner : culprit;
    if (part !== Part.memoryQueue || !this.books.charged(slot)) {
      chains.reach(slot, part, by, element, untilPs);
      return;
    }
    charges.start(chains.end(slot));
    charges.byLog(memory.use, untilPs, by, element);
    charges.addTo(chains, slot, part);
  }
}
