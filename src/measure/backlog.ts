// Hot path: `change` runs whenever a source wants or gets something. All state is in one typed array.

/** Quarters of the window over which the backlog is averaged. */
export const QUARTERS = 4;

/** Places in `cells`, after the quarters' integrals. */
const LEVEL = QUARTERS;
const LAST = QUARTERS + 1;
const MAX = QUARTERS + 2;
/** The instant that the current quarter ends, and the one up to which the account is to be brought. */
const ENDS = QUARTERS + 3;
const NOW = QUARTERS + 4;

/** Bytes that a source has wanted and not yet got: largest value and mean by quarter of the measuring window. */
export class Backlog {
  private readonly cells = new Float64Array(QUARTERS + 5);
  private quarter = 0;

  constructor(
    private readonly fromPs: number,
    private readonly toPs: number,
  ) {
    this.cells[ENDS] = this.boundary(1);
  }

  /** At `timePs`, or at the last call's instant if that is later, the backlog changes by `bytes`. */
  change(timePs: number, bytes: number): void {
    this.cells[NOW] = timePs;
    if (timePs > this.cells[LAST]!) this.advance();
    this.cells[LEVEL]! += bytes;
  }

  /** Brings the account up to the end of the window; call once when the run is over. */
  finish(): void {
    this.change(this.toPs, 0);
  }

  /** Bytes waiting now. */
  get bytes(): number {
    return this.cells[LEVEL]!;
  }

  /** Largest backlog that lasted for any time inside the window, in bytes: what came and went in one instant is none. */
  get maxBytes(): number {
    return this.cells[MAX]!;
  }

  /** Mean backlog of each quarter, in bytes. */
  quarterMeans(): number[] {
    return Array.from({ length: QUARTERS }, (_, q) => this.cells[q]! / (this.boundary(q + 1) - this.boundary(q)));
  }

  /** The level has been what it is since the last change; its integral goes to the quarters that this spans. */
  private advance(): void {
    const cells = this.cells;
    const timePs = cells[NOW]!;
    const since = Math.max(cells[LAST]!, this.fromPs);
    const until = Math.min(timePs, this.toPs);
    cells[LAST] = timePs;
    if (until <= since) return;
    const level = cells[LEVEL]!;
    if (level > cells[MAX]!) cells[MAX] = level;
    let from = since;
    while (until > cells[ENDS]!) {
      if (cells[ENDS]! > from) {
        cells[this.quarter]! += level * (cells[ENDS]! - from);
        from = cells[ENDS]!;
      }
      this.quarter++;
      cells[ENDS] = this.boundary(this.quarter + 1);
    }
    if (until > from) cells[this.quarter]! += level * (until - from);
  }

  private boundary(quarter: number): number {
    return this.fromPs + ((this.toPs - this.fromPs) * quarter) / QUARTERS;
  }
}
