// Hot path: four calls per column access. Nothing is allocated.
import { Clock } from '../../engine/clock.js';
import { READ, widen } from '../../model/bursts.js';
import { type Access, RowState } from '../../model/dram/access.js';
import type { Channel } from '../../model/dram/channel.js';
import { DdrController } from '../../model/dram/controller.js';
import { type Books, REFRESH } from './books.js';
import { Chains, keyOf } from './chains.js';
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
  /** By slot × channels + channel: the way of a burst's access that was served last, from the queue to its column command, and when. */
  private readonly ways = new Chains();
  private columnAt = new Float64Array(64);
  /** And how far the way through the door was, and when the queue was reached. */
  private wayLinks = new Int32Array(64);
  private wayEnd = new Float64Array(64);
  private enteredAt = new Float64Array(64);
  /** Channels of the memory that has most. */
  private readonly most: number;

  constructor(private readonly books: Books) {
    this.door = new MemoryDoor(books);
    this.memories = books.elements.map((element) => {
      if (!(element instanceof DdrController)) return undefined;
      const { tckNumerator, tckDenominator, nRP, nCCD_L, burstLength } = element.timing;
      const clock = new Clock(element.base.name, tckNumerator, tckDenominator);
      const spacingPs = clock.at(Math.max(nCCD_L, burstLength / 2));
      return element.dram.map(
        (channel) => new MemoryBooks(channel, clock, element.base.index, clock.at(nRP), spacingPs, books.newLog()),
      );
    });
    for (const channels of this.memories) books.memories.push(...(channels ?? []));
    this.most = Math.max(1, ...this.memories.map((channels) => channels?.length ?? 0));
  }

  /** An access of a burst goes through the door, now; with the last one of a write the burst has been taken. */
  cut(slot: number, element: number, channel: Channel, entering: Access, last: boolean): void {
    const { books } = this;
    const followed = books.sample.followed(slot);
    if (!followed && !books.sample.noting) return;
    const { bursts } = books.context;
    const memory = this.memories[element]![channel.number]!;
    const arrived = bursts.op[slot] === READ ? bursts.usableAt[slot]! : this.door.dataAt(slot, element, entering);
    if (books.sample.noting) this.door.note(slot, element, memory, arrived);
    if (followed) this.passes(slot, element, memory, entering, last, arrived);
  }

  /** An access of a burst that is followed goes through the door, which was there from `arrived` on. */
  private passes(
    slot: number,
    element: number,
    memory: MemoryBooks,
    entering: Access,
    last: boolean,
    arrived: number,
  ): void {
    const { books } = this;
    const { chains, wayIn, context } = books;
    const { bursts, calendar } = context;
    const master = bursts.master[slot]!;
    const open = books.earlyHop(slot) < 0;
    const first = entering.piece === 0;
    if (first && open) books.arrive(slot, element, bursts.usableAt[slot]!);
    if (first) this.begin(slot, element);
    books.comesIn(slot, element, first, arrived);
    const way = wayIn.of(slot);
    if (books.sample.charged(slot))
      books.charge(way, books.lastQueue(slot), calendar.now, Part.arbitration, master, element);
    else wayIn.reach(slot, Part.arbitration, master, element, calendar.now);
    if (bursts.op[slot] === READ) {
      memory.wayLinks[entering.number] = way.count;
      memory.wayEnd[entering.number] = way.end;
    } else if (last && open) {
      chains.follow(slot, wayIn, slot);
      chains.reach(slot, Part.transfer, master, element, entering.enteredAt);
    }
    wayIn.reach(slot, Part.transfer, master, element, books.elements[element]!.base.clock.after(calendar.now, 1));
  }

  /** No access of a burst has had its column command. */
  private begin(slot: number, element: number): void {
    const channels = this.memories[element]!.length;
    const end = (slot + 1) * this.most;
    if (end > this.columnAt.length) this.grow(2 * end);
    for (let way = slot * this.most; way < slot * this.most + channels; way++) this.columnAt[way] = -1;
  }

  /** The first command for an access is chosen, by what it found: to whom the last of its wait was due, and whose row it closes. */
  chosen(channel: Channel, queued: Access, found: number, clock: number): void {
    if (!this.books.sample.noting) return;
    queued.heldBy = holderOf(channel, queued, found, clock);
    if (found === RowState.conflict) queued.closes = queued.bank.openedBy;
  }

  /** An access has its column command at `clock`, or was answered from the write queue; a read is ready at `readyPs`. */
  served(element: number, channel: Channel, queued: Access, clock: number, readyPs: number): void {
    const { books } = this;
    // the slot of a write may be another's by now, which is of use to blame alone
    const followed = queued.direction === 0 && books.sample.followed(queued.burst);
    if (!followed && !books.sample.noting) return;
    const memory = this.memories[element]![channel.number]!;
    const columnPs = memory.clock.at(clock);
    if (followed) this.finish(element, memory, queued, columnPs, readyPs);
    if (!books.sample.noting || queued.rowState === RowState.unknown) return;
    // until its first command the channel was still with whoever held that up
    const { enteredAt, master, heldBy } = queued;
    const bank = queued.bank.index;
    const firstPs = memory.clock.at(queued.firstClock);
    memory.had(enteredAt, firstPs < columnPs ? firstPs : columnPs, heldBy < 0 ? master : heldBy, bank);
    memory.had(enteredAt, columnPs, master, bank);
  }

  /** A rank, or a bank, was kept for refresh from one clock to another, the command itself at clock `at`. */
  refreshed(element: number, channel: Channel, rank: number, bank: number, from: number, to: number, at: number): void {
    this.memories[element]![channel.number]!.refreshed(rank, bank, from, to, at);
  }

  /** A burst of which accesses were served here is done: its time is that of the one that was back last. */
  completed(slot: number): void {
    const { lastWay, context } = this.books;
    const way = this.books.sample.followed(slot) ? lastWay[slot]! : -1;
    if (way < 0) return;
    const chain = this.books.chains.of(slot);
    const { element } = context.bursts.routes[slot]!.hops.at(-1)!;
    chain.followPart(this.books.wayIn.of(slot), this.wayLinks[way]!, this.wayEnd[way]!);
    chain.reach(keyOf(Part.transfer, context.bursts.master[slot]!, element), this.enteredAt[way]!);
    chain.follow(this.ways.of(way));
  }

  /**
   * A read's access has its column command. For one of its own burst, before it in the channel, it has not waited: it goes
   * on from there, the burst's data one after the other.
   */
  private finish(element: number, memory: MemoryBooks, queued: Access, columnPs: number, readyPs: number): void {
    const { books, ways } = this;
    const { number: access, burst: slot, bank, piece, enteredAt, rowState, master: owner } = queued;
    const way = slot * this.most + memory.channel.number;
    const ownPs = this.columnAt[way]!;
    if (ownPs < enteredAt) {
      ways.start(way, enteredAt);
      this.wayLinks[way] = memory.wayLinks[access]!;
      this.wayEnd[way] = memory.wayEnd[access]!;
      this.enteredAt[way] = enteredAt;
    }
    const spaced = ownPs + memory.spacingPs;
    if (ownPs >= 0) ways.reach(way, Part.data, owner, element, spaced < columnPs ? spaced : columnPs);
    this.columnAt[way] = columnPs;
    const firstPs = rowState === RowState.unknown ? columnPs : memory.clock.at(queued.firstClock);
    const held = queued.heldBy < 0 ? owner : queued.heldBy;
    this.goesOn(way, slot, element, memory, bank.index, Part.memoryQueue, firstPs, held);
    if (rowState === RowState.conflict) {
      const closed = firstPs + memory.prechargePs;
      const until = closed < columnPs ? closed : columnPs;
      this.goesOn(
        way,
        slot,
        element,
        memory,
        bank.index,
        Part.closing,
        until,
        queued.closes < 0 ? owner : queued.closes,
      );
    }
    this.goesOn(way, slot, element, memory, bank.index, Part.opening, columnPs, owner);
    if (books.isLast(slot, piece, readyPs)) books.lastWay[slot] = way;
  }

  /** Goes on until `untilPs` in `part`, but for the times at which the access's bank is kept for refresh. */
  private goesOn(
    way: number,
    slot: number,
    element: number,
    memory: MemoryBooks,
    bank: number,
    part: number,
    untilPs: number,
    culprit: number,
  ): void {
    const { ways } = this;
    for (let n = memory.firstRefresh(ways.end(way)); n < memory.nextRefresh; n++) {
      const from = memory.fromOf(n);
      if (from >= untilPs || !memory.keepsOut(n, bank)) continue;
      const to = memory.toOf(n);
      if (from > ways.end(way)) this.waits(way, slot, element, memory, part, from, culprit);
      ways.reach(way, Part.refresh, REFRESH, element, to < untilPs ? to : untilPs);
    }
    if (untilPs > ways.end(way)) this.waits(way, slot, element, memory, part, untilPs, culprit);
  }

  private waits(
    way: number,
    slot: number,
    element: number,
    memory: MemoryBooks,
    part: number,
    untilPs: number,
    culprit: number,
  ): void {
    const { books, ways } = this;
    if (part !== Part.memoryQueue || !books.sample.charged(slot)) ways.reach(way, part, culprit, element, untilPs);
    else books.charge(ways.of(way), memory.use, untilPs, part, culprit, element);
  }

  private grow(size: number): void {
    this.columnAt = widen(this.columnAt, new Float64Array(size));
    this.wayLinks = widen(this.wayLinks, new Int32Array(size));
    this.wayEnd = widen(this.wayEnd, new Float64Array(size));
    this.enteredAt = widen(this.enteredAt, new Float64Array(size));
  }
}
