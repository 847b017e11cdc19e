// Hot path: a few calls per line looked up. Nothing is allocated.
import { widen } from '../../model/bursts.js';
import { CoherenceUnit } from '../../model/coherence/coherence-unit.js';
import { BOUNDARY_BYTES } from '../../traffic/beats.js';
import type { Books } from './books.js';
import { type Chain, Chains } from './chains.js';
import { Part } from './stage.js';

/** Number of the tags among an element's parts. */
const TAGS = 0;

/**
 * Coherence units: each line of a burst waits for the tags, is looked up, and is answered from a cache, by another core, or
 * by a burst of the unit's own, whose journey is then part of the line's.
 */
export class CacheVisits {
  /** By slot × lines + line: its way from the unit's input to the end of its lookup, and on to the one after. */
  private readonly lines = new Chains();
  /** By slot: the line that it was sent for. */
  private lineOf = new Int32Array(64);
  /** By element: its unit, or none. */
  private readonly units: (CoherenceUnit | undefined)[];
  /** By element: for whom the unit's own burst was that was in last, and when. */
  private readonly filled: Int32Array;
  private readonly filledAt: Float64Array;
  /** Lines that a burst can have. */
  private readonly most: number;

  constructor(private readonly books: Books) {
    this.units = books.elements.map((element) => (element instanceof CoherenceUnit ? element : undefined));
    this.filled = new Int32Array(books.elements.length).fill(-1);
    this.filledAt = new Float64Array(books.elements.length).fill(-1);
    const sizes = this.units.flatMap((unit) => (unit === undefined ? [] : [unit.spec.lineBytes]));
    this.most = BOUNDARY_BYTES / Math.min(...sizes, BOUNDARY_BYTES) + 1;
  }

  /** A unit sends a burst of its own, now. */
  injected(slot: number, index: number): void {
    const { books } = this;
    books.start(slot, books.context.calendar.now);
    while (slot >= this.lineOf.length) this.lineOf = widen(this.lineOf, new Int32Array(this.lineOf.length * 2));
    this.lineOf[slot] = index;
  }

  /** The tags are taken for line `index` of a burst, for the first time or again, or for a line given up (slot −1). */
  lookedUp(slot: number, element: number, index: number, master: number): void {
    const { books } = this;
    const first = slot >= 0 && this.begins(slot, element, index);
    if (first && books.sample.noting)
      this.note(slot, element, this.units[element]!.burstLines.arrivedAt(slot, index), master);
    if (slot >= 0 && books.sample.followed(slot)) this.passes(slot, element, index, master, first);
    if (!books.blames) return;
    const { now } = books.context.calendar;
    const until = books.elements[element]!.base.clock.after(now, 1);
    const tags = books.unitLog(element, TAGS);
    if (books.sample.noting) {
      tags.add(now, until, master, element, slot);
      return;
    }
    tags.hold(now, until, master, element, slot);
    if (first) books.lastQueue(slot).hold(now, until, master, element, slot);
  }

  /** A line of a burst that is followed has its turn at the tags. */
  private passes(slot: number, element: number, index: number, master: number, first: boolean): void {
    const { books, lines } = this;
    const { now } = books.context.calendar;
    const { clock } = books.elements[element]!.base;
    const { burstLines, spec } = this.units[element]!;
    const line = slot * this.most + index;
    const chains = first ? books.wayIn : lines;
    const at = first ? slot : line;
    if (first) books.comesIn(slot, element, index === 0, burstLines.arrivedAt(slot, index));
    if (!books.sample.charged(slot)) chains.reach(at, Part.arbitration, master, element, now);
    else if (!first) this.chargeAgain(chains.of(at), element, master);
    else books.charge(chains.of(at), books.lastQueue(slot), now, Part.arbitration, master, element);
    if (first) {
      lines.start(line, chains.of(slot).from);
      lines.follow(line, chains, slot);
      chains.reach(slot, Part.lookup, master, element, clock.after(now, 1));
    }
    lines.reach(line, Part.lookup, master, element, clock.after(now, spec.lookupCycles));
  }

  /** A line of a burst that waited for the burst `child` will be looked up again. */
  returned(slot: number, index: number, child: number): void {
    const { books } = this;
    if (!books.sample.followed(slot) || books.earlyHop(slot) >= 0) return;
    books.sample.waitedFor(slot, child);
    if (books.sample.followed(slot)) this.lines.follow(slot * this.most + index, books.chains, child);
  }

  /** A line is answered at `edge` of the unit's clock; see `Probe.lineAnswered`. */
  answered(slot: number, element: number, index: number, edge: number, snoop: number, child: number): void {
    const { books, lines } = this;
    const { chains, context } = books;
    if (child >= 0) this.fill(element, context.bursts.master[child]!);
    if (!books.sample.followed(slot) || books.earlyHop(slot) >= 0) return;
    if (child >= 0) books.sample.waitedFor(slot, child);
    if (!books.sample.followed(slot)) return;
    const { clock } = books.elements[element]!.base;
    const readyPs = clock.at(edge);
    const number = index < 0 ? this.lineOf[child]! : index;
    if (!books.isLast(slot, number, readyPs)) return;
    const master = context.bursts.master[slot]!;
    const line = slot * this.most + number;
    chains.follow(slot, lines, line);
    if (snoop > 0) {
      const snooped = clock.after(chains.end(slot), snoop);
      chains.reach(slot, Part.snoop, master, element, snooped < readyPs ? snooped : readyPs);
    }
    if (child >= 0) chains.follow(slot, chains, child);
    chains.reach(slot, Part.data, master, element, readyPs);
  }

  /** A burst of the unit's own is back; of two that are at one instant the lower master's counts, in whichever order. */
  private fill(element: number, master: number): void {
    const { now } = this.books.context.calendar;
    if (now === this.filledAt[element] && master >= this.filled[element]!) return;
    this.filled[element] = master;
    this.filledAt[element] = now;
  }

  /** Is it the first lookup of this line of the burst? They begin in order. */
  private begins(slot: number, element: number, index: number): boolean {
    const { books } = this;
    if (index !== books.begun[slot]) return false;
    books.begun[slot] = index + 1;
    if (index > 0 || !books.sample.followed(slot)) return true;
    // the chain of a write that was answered on the way has ended there
    if (books.earlyHop(slot) >= 0) books.chains.mark(slot);
    else books.arrive(slot, element, books.context.bursts.usableAt[slot]!);
    return true;
  }

  /** Whom the wait of a line is due to that is looked up now, and was before: it stands in no queue any more. */
  private chargeAgain(chain: Chain, element: number, master: number): void {
    const { books } = this;
    const { now } = books.context.calendar;
    const tags = books.unitLog(element, TAGS);
    const aligned = books.elements[element]!.base.clock.edgeFrom(chain.end);
    books.charge(chain, tags, aligned < now ? aligned : now, Part.arbitration, master, element);
    books.charge(chain, tags, now, Part.arbitration, this.filler(element, master), element);
  }

  /** Notes what a burst whose line is first looked up now has waited for, as have all behind it, and will until the next edge. */
  private note(slot: number, element: number, arrived: number, master: number): void {
    const { books } = this;
    const { now } = books.context.calendar;
    const { clock } = books.elements[element]!.base;
    const ahead = books.lastQueue(slot);
    const tags = books.unitLog(element, TAGS);
    const headed = ahead.end;
    const aligned = clock.edgeFrom(headed > arrived ? headed : arrived);
    ahead.refer(arrived, aligned < now ? aligned : now, tags, null, master, element);
    ahead.refer(arrived, now, tags, null, this.filler(element, master), element);
    ahead.add(now, clock.after(now, 1), master, element, slot);
  }

  /**
   * Who is to blame for a free cycle of the tags that a line could not use: it lacked a miss entry, a slot or a copy, until
   * someone's burst was back; `master` itself where none was.
   */
  private filler(element: number, master: number): number {
    const by = this.filled[element]!;
    return by < 0 ? master : by;
  }
}
