// Hot path: one call per line written.
import { type Bursts, widen } from '../bursts.js';

/** Writes whose lines are accepted one by one, in any order; a write is when all its lines are. Counts in `scratch`. */
export class WrittenLines {
  /** By burst: the latest instant at which one of its lines so far is accepted. */
  private latestPs = new Float64Array(64);

  constructor(private readonly bursts: Bursts) {}

  /** A write of so many lines begins. */
  expect(slot: number, lines: number): void {
    this.bursts.scratch[slot] = lines;
    while (slot >= this.latestPs.length) {
      this.latestPs = widen(this.latestPs, new Float64Array(this.latestPs.length * 2));
    }
    this.latestPs[slot] = 0;
  }

  /** One of its lines is accepted at `timePs`; answers when the whole write is, or Infinity while lines are missing. */
  accept(slot: number, timePs: number): number {
    if (timePs > this.latestPs[slot]!) this.latestPs[slot] = timePs;
    return --this.bursts.scratch[slot]! === 0 ? this.latestPs[slot]! : Infinity;
  }
}
