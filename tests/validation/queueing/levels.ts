import type { Window } from '../../../src/model/window.js';
import type { Reading } from './tally.js';

/** For how long a system held how many requests, within the measuring window. */
export class Levels {
  level = 0;
  private timeAt = new Float64Array(64);
  private sincePs = 0;

  constructor(private readonly window: Window) {}

  change(by: number, nowPs: number): void {
    this.settle(nowPs);
    this.level += by;
    if (this.level >= this.timeAt.length) {
      const wider = new Float64Array(2 * this.level);
      wider.set(this.timeAt);
      this.timeAt = wider;
    }
  }

  /** Brings the account up to `nowPs`. */
  settle(nowPs: number): void {
    this.timeAt[this.level]! += this.window.overlap(this.sincePs, nowPs);
    this.sincePs = nowPs;
  }

  /** Time with exactly so many. */
  timeWith(level: number): number {
    return this.timeAt[level] ?? 0;
  }

  /** Share of time at which exactly so many were there. */
  at(level: number): Reading {
    return { kind: 'mean', sum: this.timeWith(level), count: this.window.lengthPs };
  }

  quantile(level: number): Reading {
    const from = (least: number) => this.timeAt.subarray(least).reduce((sum, time) => sum + time, 0);
    return { kind: 'quantile', beyond: from(level + 1), from: from(level), count: this.window.lengthPs, ticked: false };
  }

  /** Mean square about the published mean. */
  squares(mean: number): Reading {
    const sum = this.timeAt.reduce((total, time, level) => total + time * (level - mean) ** 2, 0);
    return { kind: 'deviation', sum, count: this.window.lengthPs };
  }
}
