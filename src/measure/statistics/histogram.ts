// Hot path: `record` runs for every burst and level. Counts and totals live in typed arrays, so that nothing is
// allocated and no double is boxed; add no closure, object or array here.
import { BLOCKS, CELLS, POWERS, VALUE_LIMIT, binLow, binMiddle, binWidth } from './bins.js';
import { KEPT_CAP, KeptValues } from './kept-values.js';
import { rankOf } from './rank.js';
import { WholeSum, divideWhole } from './sum.js';

const TWO_31 = 2 ** 31;
const TWO_32 = 2 ** 32;

/** Places in `totals`. */
const COUNT = 0;
const ZEROS = 1;
const MIN = 2;
const MAX = 3;

/** A histogram as plain data: what a worker sends, and how finished replications are kept. */
export interface HistogramPlain {
  name: string;
  count: number;
  zeros: number;
  /** null when nothing was recorded. */
  minPs: number | null;
  maxPs: number | null;
  sum: [number, number];
  squares: [number, number];
  /** Numbers of the bins in use, ascending, and their counts. */
  bins: number[];
  counts: number[];
  /** Watched limits in ps, and how many values were at most that. */
  limits: number[];
  within: number[];
  /** Every value, ascending, or null. */
  kept: Float64Array | null;
}

/** One reading: `count` values in [lowPs, highPs), read as `valuePs`. */
export interface Reading {
  lowPs: number;
  highPs: number;
  valuePs: number;
  count: number;
}

/** The distribution of a time in whole picoseconds from 0 to 2^52; memory grows with its octaves, not with its count. */
export class Histogram {
  private readonly totals = new Float64Array([0, 0, Infinity, -Infinity]);
  private readonly blocks: (Float64Array | null)[] = Array.from<Float64Array | null>({ length: BLOCKS }).fill(null);
  private sum = new WholeSum();
  private squares = new WholeSum();
  private limits: number[] = [];
  private within = new Float64Array(0);
  private readonly kept: KeptValues | null;

  /**
   * @param name what it is the distribution of, for errors
   * @param keepAtMost keep every value, up to so many; 0 keeps bins only
   */
  constructor(
    readonly name: string,
    keepAtMost = 0,
  ) {
    this.kept = keepAtMost > 0 ? new KeptValues(name, keepAtMost) : null;
  }

  /** A histogram that also keeps every value, up to `cap`, and then throws an error that names it. */
  static exact(name: string, cap = KEPT_CAP): Histogram {
    return new Histogram(name, cap);
  }

  /** From now on counts exactly how many values are at most `limitPs`; before the first value only. */
  watch(limitPs: number): void {
    if (this.count > 0) throw new Error(`histogram ${this.name}: a limit must be watched from the start`);
    if (this.limits.includes(limitPs)) return;
    this.limits.push(limitPs);
    this.within = new Float64Array(this.limits.length);
  }

  /** Counts one value, in whole picoseconds. */
  record(valuePs: number): void {
    if (!(valuePs >= 0 && valuePs < VALUE_LIMIT)) this.refuse(valuePs);
    const totals = this.totals;
    totals[COUNT]! += 1;
    if (valuePs < totals[MIN]!) totals[MIN] = valuePs;
    if (valuePs > totals[MAX]!) totals[MAX] = valuePs;
    this.sum.add(valuePs);
    this.squares.addSquare(valuePs);
    for (let i = 0; i < this.limits.length; i++) if (valuePs <= this.limits[i]!) this.within[i]! += 1;
    if (this.kept !== null) this.kept.add(valuePs);
    if (valuePs === 0) totals[ZEROS]! += 1;
    else this.countInBin(valuePs, 1);
  }

  /** Counts a value so many times without adding to the sums: mean and deviation then mean nothing. No limits, no kept values. */
  tick(valuePs: number, times: number): void {
    if (times === 0) return;
    const totals = this.totals;
    totals[COUNT]! += times;
    if (valuePs < totals[MIN]!) totals[MIN] = valuePs;
    if (valuePs > totals[MAX]!) totals[MAX] = valuePs;
    if (valuePs === 0) totals[ZEROS]! += times;
    else this.countInBin(valuePs, times);
  }

  /** Adds all that `other` holds; both keep every value or neither does, and they watch the same limits. */
  merge(other: Histogram): void {
    this.checkAlike(other);
    this.totals[COUNT]! += other.totals[COUNT]!;
    this.totals[ZEROS]! += other.totals[ZEROS]!;
    this.totals[MIN] = Math.min(this.totals[MIN]!, other.totals[MIN]!);
    this.totals[MAX] = Math.max(this.totals[MAX]!, other.totals[MAX]!);
    this.sum.merge(other.sum);
    this.squares.merge(other.squares);
    for (let i = 0; i < this.limits.length; i++) this.within[i]! += other.within[i]!;
    for (let block = 0; block < BLOCKS; block++) {
      const from = other.blocks[block]!;
      if (from === null) continue;
      const to = this.blockAt(block);
      for (let cell = 0; cell < CELLS; cell++) to[cell]! += from[cell]!;
    }
    if (this.kept !== null && other.kept !== null) this.kept.merge(other.kept);
  }

  /** Number of values. */
  get count(): number {
    return this.totals[COUNT]!;
  }

  /** Number of values that are 0. */
  get zeros(): number {
    return this.totals[ZEROS]!;
  }

  /** Does it keep every value? */
  get isExact(): boolean {
    return this.kept !== null;
  }

  /** The watched limits, in ps. */
  get watched(): readonly number[] {
    return this.limits;
  }

  /** Exact; null when empty. */
  get minPs(): number | null {
    return this.count === 0 ? null : this.totals[MIN]!;
  }

  /** Exact; null when empty. */
  get maxPs(): number | null {
    return this.count === 0 ? null : this.totals[MAX]!;
  }

  /** Exact sum of all values in ps. */
  get total(): bigint {
    return this.sum.toBigInt();
  }

  /** null when empty. */
  get meanPs(): number | null {
    return this.count === 0 ? null : divideWhole(this.total, BigInt(this.count));
  }

  /** Standard deviation with n − 1 below, from exact sums, so nothing cancels; null with fewer than two values. */
  get stdevPs(): number | null {
    if (this.count < 2) return null;
    const n = BigInt(this.count);
    const total = this.total;
    return Math.sqrt(divideWhole(n * this.squares.toBigInt() - total * total, n * (n - 1n)));
  }

  /**
   * The `p` quantile (0 to 1) in ps: the middle of the smallest bin that reaches its rank, within 0.8 % of the sample
   * quantile and never outside the extremes; exact where every value is kept. null when empty.
   */
  quantile(p: number): number | null {
    if (this.count === 0) return null;
    if (this.kept !== null) return this.kept.quantile(p);
    const rank = rankOf(p, this.count);
    let seen = 0;
    for (const reading of this.bins()) {
      seen += reading.count;
      if (seen >= rank) return this.clamp(reading.valuePs);
    }
    throw new Error(`histogram ${this.name}: ${this.count} values counted, ${seen} found in bins`);
  }

  /** How many values are at most `limitPs`: exact for a watched limit or kept values, else by bins read at their middle. */
  countAtMost(limitPs: number): number {
    const watched = this.limits.indexOf(limitPs);
    if (watched >= 0) return this.within[watched]!;
    if (this.kept !== null) return this.kept.countAtMost(limitPs);
    let seen = 0;
    for (const reading of this.bins()) {
      if (reading.valuePs > limitPs) break;
      seen += reading.count;
    }
    return seen;
  }

  /** A value inside the extremes; a bin's middle may lie outside. */
  clamp(valuePs: number): number {
    return Math.min(Math.max(valuePs, this.totals[MIN]!), this.totals[MAX]!);
  }

  /** The bins in use, ascending; zeros are the bin [0, 1) ps. */
  bins(): Reading[] {
    const found: Reading[] = [];
    if (this.zeros > 0) found.push({ lowPs: 0, highPs: 1, valuePs: 0, count: this.zeros });
    for (let block = 0; block < BLOCKS; block++) {
      const counts = this.blocks[block]!;
      if (counts === null) continue;
      for (let cell = 0; cell < CELLS; cell++) {
        if (counts[cell]! > 0) found.push(readBin(block * CELLS + cell, counts[cell]!));
      }
    }
    return found;
  }

  /** The finest readings there are: each distinct value where all are kept, else the bins. Ascending. */
  readings(): Reading[] {
    if (this.kept === null) return this.bins();
    const found: Reading[] = [];
    for (const valuePs of this.kept.inOrder()) {
      const last = found.at(-1);
      if (last !== undefined && last.valuePs === valuePs) last.count++;
      else found.push({ lowPs: valuePs, highPs: valuePs + 1, valuePs, count: 1 });
    }
    return found;
  }

  /** Sparse plain data. */
  toPlain(): HistogramPlain {
    const bins: number[] = [];
    const counts: number[] = [];
    this.blocks.forEach((cells, block) =>
      cells?.forEach((count, cell) => {
        if (count === 0) return;
        bins.push(block * CELLS + cell);
        counts.push(count);
      }),
    );
    return {
      name: this.name,
      count: this.count,
      zeros: this.zeros,
      minPs: this.minPs,
      maxPs: this.maxPs,
      sum: this.sum.toPlain(),
      squares: this.squares.toPlain(),
      bins,
      counts,
      limits: [...this.limits],
      within: [...this.within],
      kept: this.kept === null ? null : this.kept.inOrder().slice(),
    };
  }

  /** @param cap see `exact`; used only when the plain data keeps every value */
  static fromPlain(plain: HistogramPlain, cap = KEPT_CAP): Histogram {
    const made = new Histogram(plain.name, plain.kept === null ? 0 : cap);
    made.totals.set([plain.count, plain.zeros, plain.minPs ?? Infinity, plain.maxPs ?? -Infinity]);
    made.sum = WholeSum.fromPlain(plain.sum);
    made.squares = WholeSum.fromPlain(plain.squares);
    made.limits = [...plain.limits];
    made.within = Float64Array.from(plain.within);
    plain.bins.forEach((bin, i) => (made.blockAt(Math.floor(bin / CELLS))[bin % CELLS] = plain.counts[i]!));
    plain.kept?.forEach((value) => made.kept!.add(value));
    return made;
  }

  private countInBin(valuePs: number, times: number): void {
    let block = 0;
    let cell = valuePs;
    if (valuePs >= CELLS && valuePs < TWO_31) {
      const shift = 25 - Math.clz32(valuePs);
      block = shift + 1;
      cell = (valuePs >>> shift) - CELLS;
    } else if (valuePs >= CELLS) {
      const shift = 57 - Math.clz32(valuePs / TWO_32);
      block = shift + 1;
      cell = Math.floor(valuePs / POWERS[shift]!) - CELLS;
    }
    const counts = this.blocks[block]!;
    if (counts !== null) counts[cell]! += times;
    else this.blockAt(block)[cell] = times;
  }

  private blockAt(block: number): Float64Array {
    return (this.blocks[block] ??= new Float64Array(CELLS));
  }

  private checkAlike(other: Histogram): void {
    const same =
      other.limits.length === this.limits.length && other.limits.every((limit, i) => limit === this.limits[i]);
    if (same && this.isExact === other.isExact) return;
    throw new Error(`histogram ${this.name}: cannot take in ${other.name}, whose limits or exactness differ`);
  }

  private refuse(valuePs: number): never {
    throw new RangeError(`histogram ${this.name}: a value must be from 0 to 2^52 ps, got ${valuePs}`);
  }
}

function readBin(bin: number, count: number): Reading {
  const lowPs = binLow(bin);
  return { lowPs, highPs: lowPs + binWidth(bin), valuePs: binMiddle(bin), count };
}

/**
 * One histogram with all that `parts` hold, named `name`; there must be at least one part.
 *
 * @param cap most values kept, where the parts keep theirs
 */
export function mergeAll(name: string, parts: readonly Histogram[], cap = KEPT_CAP): Histogram {
  const merged = new Histogram(name, parts[0]!.isExact ? cap : 0);
  for (const limit of parts[0]!.watched) merged.watch(limit);
  for (const part of parts) merged.merge(part);
  return merged;
}
