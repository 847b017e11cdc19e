import type { QueueSeries } from './queue-series.js';

/** The measuring window [fromPs, toPs): what happens outside it is simulated but not counted. */
export class Window {
  // each starts as a fraction, so that it is kept as a double: it is read many times a burst, and compared with doubles
  readonly fromPs: number = 0.5;
  readonly toPs: number = 0.5;

  constructor(fromPs: number, toPs: number) {
    this.fromPs = fromPs;
    this.toPs = toPs;
  }

  get lengthPs(): number {
    return this.toPs - this.fromPs;
  }

  /** Is the instant inside? */
  holds(timePs: number): boolean {
    return timePs >= this.fromPs && timePs < this.toPs;
  }

  /** How much of [startPs, endPs) lies inside, in ps. */
  overlap(startPs: number, endPs: number): number {
    const from = startPs > this.fromPs ? startPs : this.fromPs;
    const to = endPs < this.toPs ? endPs : this.toPs;
    return to > from ? to - from : 0;
  }
}

/**
 * Time-weighted length of one queue: its integral over the window, exact, and the largest value that lasted there for any
 * time. What comes in the instant in which another goes does not stand beside it, whichever of the two is handled first.
 */
export class QueueMeter {
  length = 0;
  areaPs = 0;
  /** The largest length since the last cut of the series, or since the start where none is kept. */
  peak = 0;
  private most = 0;
  private sincePs = 0.5;
  /** Up to when the account is to be brought: a field, as a time that is passed is put on the heap. */
  private untilPs = 0.5;
  /** Where the series is to be cut next; never, where none is kept. */
  private cutsAt = Infinity;
  private series: QueueSeries | null = null;

  constructor(private readonly window: Window) {
    this.sincePs = 0;
  }

  /** The largest length that lasted for any time inside the window. */
  get largest(): number {
    return this.peak > this.most ? this.peak : this.most;
  }

  /**
   * Tells `listener` of every change as well; call before the first. It replaces the method of this one meter, so that meters
   * that nobody listens to, nearly all, do not ask at each change.
   */
  tap(listener: (nowPs: number, by: number) => void): void {
    const change = this.change.bind(this);
    this.change = (nowPs, by) => {
      change(nowPs, by);
      listener(nowPs, by);
    };
  }

  /** From now on keeps a series as well; call before the first change. */
  keep(series: QueueSeries): void {
    this.series = series;
    this.cutsAt = series.endsAt;
  }

  /** The length changes by `by` at `nowPs`; calls come in order of time. */
  change(nowPs: number, by: number): void {
    this.untilPs = nowPs;
    this.advance();
    this.length += by;
  }

  /** Brings the integral up to `nowPs`. */
  settle(nowPs: number): void {
    this.untilPs = nowPs;
    this.advance();
  }

  private advance(): void {
    if (this.untilPs > this.cutsAt) this.cut(this.untilPs);
    if (this.length > 0) {
      const inside = this.window.overlap(this.sincePs, this.untilPs);
      if (inside > 0) {
        this.areaPs += this.length * inside;
        if (this.length > this.peak) this.peak = this.length;
      }
    }
    this.sincePs = this.untilPs;
  }

  /** Cuts the series at each of its instants before `nowPs`. */
  private cut(nowPs: number): void {
    const series = this.series!;
    while (nowPs > this.cutsAt) {
      const at = this.cutsAt;
      this.cutsAt = Infinity;
      this.settle(at);
      series.cut(this.areaPs, this.peak);
      if (this.peak > this.most) this.most = this.peak;
      this.peak = 0;
      this.cutsAt = series.endsAt;
    }
    this.untilPs = nowPs;
  }
}

/** Time during which something is the case (busy, stalled), within the window. */
export class TimeMeter {
  totalPs = 0;
  /** Since when it is the case; below 0: it is not. */
  private sincePs = -0.5;
  /** Until when it was: a field, as a time that is passed is put on the heap. */
  private untilPs = 0.5;

  constructor(private readonly window: Window) {}

  /** It was or will be the case from `startPs` to `endPs`. */
  add(startPs: number, endPs: number): void {
    this.totalPs += this.window.overlap(startPs, endPs);
  }

  /** It begins to be the case at `fromPs`, now or later, unless it already is by then. */
  begin(fromPs: number): void {
    if (this.sincePs < 0 || fromPs < this.sincePs) this.sincePs = fromPs;
  }

  /** It ceases to be the case, if it was. */
  end(nowPs: number): void {
    if (this.sincePs < 0) return;
    this.untilPs = nowPs;
    this.close();
  }

  private close(): void {
    // what was to begin later has not begun: nothing is added
    this.totalPs += this.window.overlap(this.sincePs, this.untilPs);
    this.sincePs = -0.5;
  }
}
