// Hot path: one look per tag lookup, one change per line granted or given up. Records are pooled typed arrays.

const NONE = -1;

/**
 * The duplicate tags: which private caches hold a line, and which of them may have changed it. A cache counts as a holder
 * from the instant the unit grants it the line until the unit learns that it gave it up.
 */
export class Directory {
  private readonly records = new Map<number, number>();
  private readonly words: number;
  private owners = new Int32Array(64).fill(NONE);
  private counts = new Int32Array(64);
  private bits: Uint32Array;
  private free: number[] = [];
  private used = 0;

  constructor(readonly caches: number) {
    this.words = Math.max(1, Math.ceil(caches / 32));
    this.bits = new Uint32Array(64 * this.words);
  }

  /** How many private caches hold the line. */
  holders(line: number): number {
    const record = this.records.get(line);
    return record === undefined ? 0 : this.counts[record]!;
  }

  /** The cache that holds the line exclusively or modified, or −1. */
  owner(line: number): number {
    const record = this.records.get(line);
    return record === undefined ? NONE : this.owners[record]!;
  }

  holds(line: number, cache: number): boolean {
    const record = this.records.get(line);
    if (record === undefined) return false;
    return (this.bits[record * this.words + (cache >> 5)]! & (1 << (cache & 31))) !== 0;
  }

  /** The cache holds the line from now on, as its owner or beside others. */
  add(line: number, cache: number, owns: boolean): void {
    let record = this.records.get(line);
    if (record === undefined) {
      record = this.take();
      this.records.set(line, record);
    }
    if (!this.holds(line, cache)) {
      this.bits[record * this.words + (cache >> 5)]! |= 1 << (cache & 31);
      this.counts[record]!++;
    }
    this.owners[record] = owns ? cache : NONE;
  }

  /** The cache gave the line up, if it had it. */
  remove(line: number, cache: number): void {
    const record = this.records.get(line);
    if (record === undefined || !this.holds(line, cache)) return;
    this.bits[record * this.words + (cache >> 5)]! &= ~(1 << (cache & 31));
    if (this.owners[record] === cache) this.owners[record] = NONE;
    if (--this.counts[record]! > 0) return;
    this.records.delete(line);
    this.free.push(record);
  }

  /** The owner keeps the line, no longer alone. */
  share(line: number): void {
    const record = this.records.get(line);
    if (record !== undefined) this.owners[record] = NONE;
  }

  /** Lines that are held, for the tests of invariants. */
  lines(): Iterable<number> {
    return this.records.keys();
  }

  private take(): number {
    const record = this.free.pop() ?? this.used++;
    if (record >= this.owners.length) this.grow();
    this.owners[record] = NONE;
    this.counts[record] = 0;
    return record;
  }

  private grow(): void {
    const size = this.owners.length * 2;
    const owners = new Int32Array(size).fill(NONE);
    owners.set(this.owners);
    this.owners = owners;
    const counts = new Int32Array(size);
    counts.set(this.counts);
    this.counts = counts;
    const bits = new Uint32Array(size * this.words);
    bits.set(this.bits);
    this.bits = bits;
  }
}
