/**
 * What a meter of a queue held over equal windows, one after the other: the meter tells its integral at each end of one, so
 * that between two of them nothing is done. The last window ends where the measuring window does.
 */
export class QueueSeries {
  /** By window: integral of the length from the start of the measuring window to the end of this one, in items × ps. */
  private readonly areas: Float64Array;
  /** By window: largest length that lasted for any time. */
  private readonly peaks: Int32Array;
  private known = 0;

  constructor(
    private readonly fromPs: number,
    private readonly toPs: number,
    private readonly widthPs: number,
  ) {
    const windows = Math.ceil((toPs - fromPs) / widthPs);
    this.areas = new Float64Array(windows);
    this.peaks = new Int32Array(windows);
  }

  /** The end of the window that is running; Infinity after the last. */
  get endsAt(): number {
    if (this.known === this.areas.length) return Infinity;
    return Math.min(this.fromPs + (this.known + 1) * this.widthPs, this.toPs);
  }

  /** The running window ends: `areaPs` is the integral up to here, `peak` the largest length in this window. */
  cut(areaPs: number, peak: number): void {
    this.areas[this.known] = areaPs;
    this.peaks[this.known] = peak;
    this.known++;
  }

  /** By window: its integral and its largest length; `areaPs` and `peak` are what the meter holds at the end of the run. */
  windows(areaPs: number, peak: number): { areaPs: number; peak: number }[] {
    const { areas, peaks, known } = this;
    return Array.from(areas, (_, window) => {
      const upTo = window < known ? areas[window]! : areaPs;
      const before = window === 0 ? 0 : window - 1 < known ? areas[window - 1]! : areaPs;
      return { areaPs: upTo - before, peak: window < known ? peaks[window]! : window === known ? peak : 0 };
    });
  }
}
