// Hot path: asked at every step of a burst. State in typed arrays by slot; growth is by doubling in one place.
import { widen } from '../../model/bursts.js';
import type { Context } from '../../model/context.js';
import { Watches } from './watches.js';

/** Masters that may contend while every burst that is watched is charged; beyond, every k-th burst of a path is. */
const ALL_CHARGED = 32;

/** What is drawn, and for whom. */
export interface SampleParams {
  /** Masters that issue anything, and all paths. */
  readonly contending: number;
  readonly paths: number;
  /** Is blame kept as well? Else all waiting is its own. */
  readonly blames: boolean;
  /** Are bursts followed too that stand for none, such as those that do not count? */
  readonly followsAll: boolean;
}

/** Which of the bursts in flight are followed, and charged to whoever caused their waiting, and how many are under way. */
export class Sample {
  /**
   * Do the places note who has them, and what their queues wait for? So they do while a burst that is watched is under way;
   * else it is enough to know who had each last.
   */
  noting: boolean;
  /** Bursts in flight that are followed: with none, the steps of the others need not be told. */
  inFlight = 0;
  /** By slot: is it counted among those? */
  private flying = new Uint8Array(0);
  /** By slot: for how many bursts it stands, 0 where it is not watched; is it charged as well? */
  private weights = new Int32Array(0);
  private chargedToo = new Uint8Array(0);
  /** Bursts of masters under way that are watched. */
  private underWay = 0;
  private readonly watches: Watches;
  /** By path: the number of its first burst that counts, or −1. */
  private readonly first: Float64Array;
  /** Of the bursts that are watched, those of each path whose number this divides are charged. */
  private readonly every: number;
  private readonly blames: boolean;
  private readonly followsAll: boolean;

  constructor(
    private readonly context: Context,
    { contending, paths, blames, followsAll }: SampleParams,
  ) {
    this.every = Math.max(1, Math.ceil(contending / ALL_CHARGED));
    this.first = new Float64Array(paths).fill(-1);
    this.watches = new Watches(context.replication);
    this.blames = blames;
    this.followsAll = followsAll;
    this.noting = blames && followsAll;
    // it is always somebody then
    if (followsAll) this.inFlight = 1;
  }

  /**
   * Draws whether a burst is watched that begins its journey; one that waits for what burst `flight` was sent for is, if that
   * is. Those of caches, numbered below zero, are a part of whom they are for, which may be any that is under way.
   */
  draw(slot: number, flight: number): void {
    if (slot >= this.weights.length) this.grow(slot + 1);
    const { weights, chargedToo } = this;
    const { number: numbers, counted, master, op } = this.context.bursts;
    const number = numbers[slot]!;
    if (number < 0) {
      weights[slot] = this.underWay > 0 ? 1 : 0;
      chargedToo[slot] = this.noting ? 1 : 0;
    } else if (counted[slot] === 0) {
      weights[slot] = 0;
      chargedToo[slot] = 0;
    } else if (flight >= 0) {
      weights[slot] = weights[flight]!;
      chargedToo[slot] = chargedToo[flight]!;
    } else {
      const before = this.before(2 * master[slot]! + op[slot]!, number);
      const weight = this.watches.weightOf(before, this.context.calendar.now);
      weights[slot] = weight;
      chargedToo[slot] = this.blames && weight > 0 && number % this.every === 0 ? 1 : 0;
    }
    if (weights[slot]! > 0) this.takesOff(slot);
  }

  /** A burst that was drawn sets out, now. Answers whether places begin to take notes for it. */
  setsOut(slot: number): boolean {
    const { bursts, calendar } = this.context;
    if (bursts.counted[slot] === 0) return false;
    this.watches.offer(calendar.now);
    if (this.weights[slot] === 0 || this.underWay++ > 0 || !this.blames || this.noting) return false;
    this.noting = true;
    return true;
  }

  private takesOff(slot: number): void {
    if (this.flying[slot] === 1) return;
    this.flying[slot] = 1;
    this.inFlight++;
  }

  /** All is known of a burst of anybody's, followed or not. */
  lands(slot: number): void {
    if (this.flying[slot] !== 1) return;
    this.flying[slot] = 0;
    this.inFlight--;
  }

  /** A burst of a master, which had set out, has come to its end. */
  ends(slot: number): void {
    this.lands(slot);
    if (this.weights[slot] === 0) return;
    if (--this.underWay === 0) this.noting = this.blames && this.followsAll;
  }

  /**
   * A burst has waited for a line that burst `child` was sent for. Was that not watched, as nothing was under way then that is,
   * how its time went is not known: the burst counts no longer among those that are watched.
   */
  waitedFor(slot: number, child: number): void {
    if (this.weights[child]! > 0) return;
    this.ends(slot);
    this.weights[slot] = 0;
    this.chargedToo[slot] = 0;
  }

  /** Is there a chain of the burst? */
  followed(slot: number): boolean {
    return this.weights[slot]! > 0 || this.followsAll;
  }

  /** Is the waiting of a burst that is followed charged to whoever caused it, instant by instant? */
  charged(slot: number): boolean {
    return this.chargedToo[slot] === 1 || (this.followsAll && this.blames);
  }

  /** For how many bursts it stands among those that are watched; 0 where it is not. */
  weight(slot: number): number {
    return this.weights[slot]!;
  }

  /** The same among those of them that are charged. */
  chargedWeight(slot: number): number {
    return this.chargedToo[slot] === 1 ? this.weights[slot]! : 0;
  }

  /** How many bursts of a path that count come before number `number`, which counts. */
  private before(path: number, number: number): number {
    const { first } = this;
    if (first[path]! < 0) first[path] = number;
    return number - first[path]!;
  }

  private grow(least: number): void {
    let size = Math.max(64, this.weights.length);
    while (size < least) size *= 2;
    this.weights = widen(this.weights, new Int32Array(size));
    this.chargedToo = widen(this.chargedToo, new Uint8Array(size));
    this.flying = widen(this.flying, new Uint8Array(size));
  }
}
