// Hot path: one call per column access; nothing is allocated.
import type { DramTimingSpec } from '../../scenario/scenario.js';
import type { BankState } from './bank-state.js';
import type { DramUse } from './dram-use.js';

/** Keeps account of what the data bus of a channel carries, and of what it idles for. Clocks are those of the DRAM. */
export class DataBus {
  /** Did the last access write; −1 before the first. */
  private lastWrite = -1;
  private lastRank = 0;
  /** The clock after its last beat; starts as no whole number, so that it is kept as a double. */
  private end = -Infinity;

  constructor(
    private readonly timing: DramTimingSpec,
    private readonly state: BankState,
    private readonly use: DramUse,
  ) {}

  /** A column command at clock `at` moves bytes [low, high) of its burst to or from a rank. */
  carry(at: number, rank: number, write: boolean, low: number, high: number): void {
    const { state, use } = this;
    const start = at + (write ? state.writeDelay : state.readDelay);
    if (this.lastWrite >= 0 && (rank !== this.lastRank || write !== (this.lastWrite === 1))) {
      const needed = rank === this.lastRank ? this.turnaroundClocks(write) : this.timing.nRankGap;
      // the bus may have idled longer, but not for this reason
      use.turnaround(start, Math.min(needed, start - this.end));
    }
    this.lastWrite = write ? 1 : 0;
    this.lastRank = rank;
    this.end = start + state.burst;
    use.data(start, write, low, high);
  }

  /** Clocks that the bus must idle when the direction changes within a rank, by the rule that binds at the least. */
  private turnaroundClocks(write: boolean): number {
    const { state, timing } = this;
    if (write) return timing.nReadToWrite + state.writeDelay - state.readDelay - state.burst;
    return timing.nWriteToRead_S + state.readDelay - state.writeDelay - state.burst;
  }
}
