// Hot path: one entry per line in flight. Waiters are linked lists in pooled arrays.

const NONE = -1;

/**
 * The pool of miss entries: one per line in flight, each with those that wait for the line in order of their lookups. Of
 * `size` entries every requester can always have `minimum` (less where the pool is too small for all); the rest goes to
 * whoever comes first.
 */
export class MissEntries {
  readonly lines: Float64Array;
  /** By entry: place reserved in the shared cache, or −1; the requester that holds the entry. */
  readonly places: Int32Array;
  readonly requesters: Int32Array;
  /** By entry: the burst that fetches the line, or −1. */
  readonly children: Int32Array;
  private readonly heads: Int32Array;
  private readonly tails: Int32Array;
  private readonly used: Int32Array;
  private readonly guaranteed: number;
  private free: number[] = [];

  private waiterSlots = new Int32Array(64);
  private waiterLines = new Float64Array(64);
  private waiterKnown = new Float64Array(64);
  private waiterNext = new Int32Array(64);
  private waiterFree: number[] = [];
  private waiterCount = 0;

  constructor(
    readonly size: number,
    minimum: number,
    requesters: number,
  ) {
    this.guaranteed = Math.min(minimum, Math.floor(size / Math.max(1, requesters)));
    this.lines = new Float64Array(size).fill(NONE);
    this.places = new Int32Array(size).fill(NONE);
    this.requesters = new Int32Array(size);
    this.children = new Int32Array(size).fill(NONE);
    this.heads = new Int32Array(size).fill(NONE);
    this.tails = new Int32Array(size).fill(NONE);
    this.used = new Int32Array(requesters);
    for (let entry = size - 1; entry >= 0; entry--) this.free.push(entry);
  }

  /** Entries in use. */
  get inUse(): number {
    return this.size - this.free.length;
  }

  /** The entry of a line in flight, or −1. */
  find(line: number): number {
    return this.lines.indexOf(line);
  }

  /** May the requester have one more entry, with the others' guarantees kept? */
  available(requester: number): boolean {
    if (this.free.length === 0) return false;
    if (this.used[requester]! < this.guaranteed) return true;
    let promised = 0;
    for (const used of this.used) if (used < this.guaranteed) promised += this.guaranteed - used;
    return this.free.length > promised;
  }

  /** Takes an entry for a line; the caller has asked `available`. */
  take(line: number, requester: number, place: number): number {
    const entry = this.free.pop();
    if (entry === undefined) throw new Error('miss entries: none is free');
    this.lines[entry] = line;
    this.places[entry] = place;
    this.requesters[entry] = requester;
    this.used[requester]!++;
    return entry;
  }

  /** Frees an entry whose waiters were all taken. */
  release(entry: number): void {
    if (this.heads[entry] !== NONE) throw new Error(`miss entry ${entry} is freed while bursts wait for it`);
    this.used[this.requesters[entry]!]!--;
    this.lines[entry] = NONE;
    this.places[entry] = NONE;
    this.children[entry] = NONE;
    this.free.push(entry);
  }

  /** A burst waits for the entry's line, which is the `index`-th of its own; its lookup ends at edge `knownEdge`. */
  wait(entry: number, slot: number, index: number, knownEdge: number): void {
    const waiter = this.waiterFree.pop() ?? this.newWaiter();
    this.waiterSlots[waiter] = slot;
    this.waiterLines[waiter] = index;
    this.waiterKnown[waiter] = knownEdge;
    this.waiterNext[waiter] = NONE;
    if (this.heads[entry] === NONE) this.heads[entry] = waiter;
    else this.waiterNext[this.tails[entry]!] = waiter;
    this.tails[entry] = waiter;
  }

  /** Slot and line of the first that waits. */
  firstSlot(entry: number): number {
    return this.heads[entry] === NONE ? NONE : this.waiterSlots[this.heads[entry]!]!;
  }

  firstLine(entry: number): number {
    return this.waiterLines[this.heads[entry]!]!;
  }

  /** When the lookup of the first that waits has ended: it is not answered before. */
  firstKnown(entry: number): number {
    return this.waiterKnown[this.heads[entry]!]!;
  }

  /** Takes the first that waits off the list. */
  shift(entry: number): void {
    const waiter = this.heads[entry]!;
    this.heads[entry] = this.waiterNext[waiter]!;
    this.waiterFree.push(waiter);
  }

  private newWaiter(): number {
    if (this.waiterCount === this.waiterSlots.length) {
      this.waiterSlots = widened(this.waiterSlots, new Int32Array(this.waiterCount * 2));
      this.waiterNext = widened(this.waiterNext, new Int32Array(this.waiterCount * 2));
      this.waiterLines = widened(this.waiterLines, new Float64Array(this.waiterCount * 2));
      this.waiterKnown = widened(this.waiterKnown, new Float64Array(this.waiterCount * 2));
    }
    return this.waiterCount++;
  }
}

function widened<T extends Int32Array | Float64Array>(old: T, next: T): T {
  next.set(old);
  return next;
}
