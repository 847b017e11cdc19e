// Hot path: once a request. `next` sets fields instead of answering, so that no time is boxed; add no objects there.
import type { ExactTime } from './exact-time.js';

/** When an open source wants its requests. */
export interface Arrivals {
  /** When the request is wanted, in ps from the start of the run; never before the one ahead of it. */
  atPs: number;
  /** Its size: what was drawn for it, or less where a block ends. */
  bytes: number;
  /** Goes on to the next request, for which `drawnBytes` was drawn. */
  next(drawnBytes: number): void;
}

/**
 * Evenly paced: by bytes, each request comes when those before it have passed at the rate; by count, one every so often.
 * Jitter delays a request, never past the next one.
 */
export class SteadyArrivals implements Arrivals {
  atPs = 0;
  bytes = 0;
  private passed = 0;

  constructor(
    private readonly firstPs: number,
    private readonly time: ExactTime,
    private readonly byBytes: boolean,
    private readonly jitter: () => number,
  ) {}

  next(drawnBytes: number): void {
    const at = this.firstPs + this.time.of(this.passed) + this.jitter();
    if (at > this.atPs) this.atPs = at;
    this.passed += this.byBytes ? drawnBytes : 1;
    this.bytes = drawnBytes;
  }
}

/** Batches after gaps that are drawn; all requests of a batch are wanted at its instant. */
export class BatchArrivals implements Arrivals {
  bytes = 0;
  private left = 0;

  constructor(
    public atPs: number,
    private readonly gap: () => number,
    private readonly batch: () => number,
  ) {}

  next(drawnBytes: number): void {
    if (this.left === 0) {
      this.left = this.batch();
      this.atPs += this.gap();
    }
    this.left--;
    this.bytes = drawnBytes;
  }
}

/** A block every so often, cut into requests that are all wanted at its instant; the last takes what is left. */
export class BlockArrivals implements Arrivals {
  atPs = 0;
  bytes = 0;
  private left = 0;
  private blocks = 0;

  constructor(
    private readonly firstPs: number,
    private readonly time: ExactTime,
    private readonly blockBytes: number,
    private readonly jitter: () => number,
  ) {}

  next(drawnBytes: number): void {
    if (this.left === 0) {
      const at = this.firstPs + this.time.of(this.blocks++) + this.jitter();
      if (at > this.atPs) this.atPs = at;
      this.left = this.blockBytes;
    }
    this.bytes = drawnBytes < this.left ? drawnBytes : this.left;
    this.left -= this.bytes;
  }
}

/**
 * Two states: `within` runs while on and stands still while off, so that no part of a gap is lost at a change of state.
 * The run starts at a place in the first on-off cycle that is drawn.
 */
export class OnOffArrivals implements Arrivals {
  atPs = 0;
  bytes = 0;
  /** Start of the present on period, in run time and in time spent on. */
  private onAt: number;
  private onFrom = 0;
  /** Its end in time spent on. */
  private onUntil: number;
  private cycleEnd: number;

  /**
   * @param within arrivals in time spent on, from 0
   * @param on length of each on period, at least 1 ps
   * @param phase uniform in [0, 1): which share of the first cycle is over at `startPs`
   */
  constructor(
    private readonly within: Arrivals,
    private readonly on: () => number,
    private readonly off: () => number,
    startPs: number,
    phase: number,
  ) {
    const onPs = on();
    const cyclePs = onPs + off();
    const over = Math.floor(phase * cyclePs);
    this.onAt = startPs;
    this.onUntil = Math.max(0, onPs - over);
    this.cycleEnd = startPs + cyclePs - over;
  }

  next(drawnBytes: number): void {
    const { within } = this;
    within.next(drawnBytes);
    while (within.atPs >= this.onUntil) this.startCycle();
    this.atPs = this.onAt + (within.atPs - this.onFrom);
    this.bytes = within.bytes;
  }

  private startCycle(): void {
    const onPs = this.on();
    this.onAt = this.cycleEnd;
    this.onFrom = this.onUntil;
    this.onUntil += onPs;
    this.cycleEnd += onPs + this.off();
  }
}
