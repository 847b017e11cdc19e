import type { Clock } from '../../engine/clock.js';
import { shiftOf } from '../bursts.js';
import { TimeMeter, type Window } from '../window.js';
import { RowState } from './access.js';

const { hit: HIT, empty: EMPTY } = RowState;

/** What one channel did within the measuring window: the counts behind memory.csv. */
export class DramUse {
  /** Column accesses by what they found when their own first command was chosen. */
  rowHits = 0;
  rowEmpties = 0;
  rowConflicts = 0;
  /** Column commands issued, and reads answered from the write queue instead. */
  columnAccesses = 0;
  coveredReads = 0;
  activates = 0;
  precharges = 0;
  refreshes = 0;
  /** Useful bytes, and beats with and without any, by the instant at which each beat is on the bus. */
  readBytes = 0;
  writeBytes = 0;
  beats = 0;
  wastedBeats = 0;
  /** Time that refresh kept others out, summed over ranks (per bank: over banks, divided by the banks of a rank). */
  refreshPs = 0;
  /** Time the data bus had to idle because its direction or its rank changed. */
  turnaroundPs = 0;
  readonly busy: TimeMeter;
  private readonly beatShift: number;
  /** The measuring window in clocks: the first inside, the first after. */
  private readonly windowClocks: Float64Array;

  constructor(
    private readonly window: Window,
    private readonly clock: Clock,
    private readonly beatBytes: number,
    private readonly burstBeats: number,
    /** Refreshes that can block at once: ranks, or ranks × banks. */
    readonly refreshShares: number,
  ) {
    this.busy = new TimeMeter(window);
    this.beatShift = shiftOf(beatBytes);
    const last = window.toPs === Infinity ? Infinity : clock.indexFrom(window.toPs);
    this.windowClocks = Float64Array.of(clock.indexFrom(window.fromPs), last);
  }

  /** Is clock `at` inside the measuring window? */
  inWindow(at: number): boolean {
    return at >= this.windowClocks[0]! && at < this.windowClocks[1]!;
  }

  /** A column access found its row open, none open, or another one. */
  found(rowState: number): void {
    if (rowState === HIT) this.rowHits++;
    else if (rowState === EMPTY) this.rowEmpties++;
    else this.rowConflicts++;
  }

  /** Data of an access is on the bus for `burstBeats` from clock `start` on; bytes [low, high) of it are useful. */
  data(start: number, write: boolean, low: number, high: number): void {
    const { window, clock } = this;
    const from = clock.at(start);
    const to = clock.at(start + this.burstBeats / 2);
    this.busy.add(from, to);
    if (from >= window.toPs || to <= window.fromPs) return;
    if (from >= window.fromPs && to <= window.toPs) {
      const used = ((high + this.beatBytes - 1) >> this.beatShift) - (low >> this.beatShift);
      this.count(write, high - low, this.burstBeats, this.burstBeats - used);
      return;
    }
    for (let beat = 0; beat < this.burstBeats; beat++) this.edgeBeat(start, beat, write, low, high);
  }

  /** The bus idled for `clocks` before clock `start` for the sake of a change of direction or rank. */
  turnaround(start: number, clocks: number): void {
    if (clocks > 0) this.turnaroundPs += this.window.overlap(this.clock.at(start - clocks), this.clock.at(start));
  }

  /** A refresh kept others out between two clocks. */
  refreshed(from: number, to: number): void {
    if (to > from) this.refreshPs += this.window.overlap(this.clock.at(from), this.clock.at(to));
  }

  /** Share of the window in which a rank (per bank: a bank) was kept for refresh. */
  get refreshShare(): number {
    return this.refreshPs / this.refreshShares / this.window.lengthPs;
  }

  get turnaroundShare(): number {
    return this.turnaroundPs / this.window.lengthPs;
  }

  /** Share of the beats moved that held no useful byte; 0 where none moved. */
  get wastedShare(): number {
    return this.beats === 0 ? 0 : this.wastedBeats / this.beats;
  }

  private edgeBeat(start: number, beat: number, write: boolean, low: number, high: number): void {
    const edge = this.clock.at(start + Math.floor(beat / 2));
    const half = Math.floor((this.clock.at(start + Math.floor(beat / 2) + 1) - edge) / 2);
    if (!this.window.holds(edge + (beat % 2) * half)) return;
    const from = Math.max(low, beat * this.beatBytes);
    const to = Math.min(high, (beat + 1) * this.beatBytes);
    this.count(write, Math.max(0, to - from), 1, to > from ? 0 : 1);
  }

  private count(write: boolean, bytes: number, beats: number, wasted: number): void {
    if (write) this.writeBytes += bytes;
    else this.readBytes += bytes;
    this.beats += beats;
    this.wastedBeats += wasted;
  }
}
