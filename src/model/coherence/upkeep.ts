import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import type { Clock } from '../../engine/clock.js';
import { Phase } from '../../engine/phase.js';
import type { Care, CoreSpec } from '../../scenario/scenario.js';
import { arrive } from '../arrival.js';
import type { Context } from '../context.js';
import type { CoherenceUnit } from './coherence-unit.js';

/** What a core is to do for a hand-over. */
export interface UpkeepJob {
  readonly care: Care;
  /** Lines that the buffer touches, whole or in part; none where only a barrier is wanted. */
  readonly firstLine: number;
  readonly lines: number;
  /** Number under which the task asked for it. */
  readonly ask: number;
  /** By line from 0: uniform in [0, 1), for a cache by ratios: is it dirty? */
  readonly draw: (line: number) => number;
}

/** Where the core stands. */
export interface UpkeepPlace {
  readonly index: number;
  readonly clock: Clock;
  readonly syncBack: number;
}

/**
 * A core's work on the lines of a buffer that it hands over or takes back. Line by line it works for some cycles, sends the
 * line to the tags of its unit, and goes on when the answer is back; the barrier at the end waits for what was written
 * back, and for the core's own writes that were answered early. Jobs are done in order; the core does nothing else
 * meanwhile.
 */
export class Upkeep implements Actor {
  /** Is a job under way? */
  busy = false;
  private readonly jobs: UpkeepJob[] = [];
  private readonly carrier: Carrier;
  /** Edge of the core's clock up to which it has worked. */
  private edge = 0;
  private done = 0;
  private writing = 0;
  /** When the last of those written back is there, which may be told ahead of time. */
  private writtenPs = 0;
  private ending = false;

  /** @param finished told when a job is done, with the edge from which on the core is free */
  constructor(
    private readonly context: Context,
    private readonly place: UpkeepPlace,
    private readonly core: CoreSpec,
    private readonly unit: CoherenceUnit | null,
    private readonly number: number,
    private readonly finished: (edge: number) => void,
  ) {
    this.carrier = context.calendar.carrier(this, 0, Phase.complete);
    context.finals.watch(place.index, () => this.settle());
  }

  /** Synchroniser cycles on the way into the unit. */
  syncIn = 0;

  /** Does a job wait to be begun? */
  get waiting(): boolean {
    return !this.busy && this.jobs.length > 0;
  }

  add(job: UpkeepJob): void {
    this.jobs.push(job);
  }

  /** Begins the oldest job at an edge of the core's clock, from when on the core has nothing else to do. */
  begin(edge: number): void {
    this.busy = true;
    this.ending = false;
    this.edge = edge;
    this.done = 0;
    this.writing = 0;
    this.writtenPs = 0;
    if (this.jobs[0]!.lines > 0) this.send();
    else this.settle();
  }

  /** The unit has looked the line up at an edge of its clock; `wrote`: it sent it to memory. */
  lookedUp(edge: number, wrote: boolean): void {
    const { clock, syncBack } = this.place;
    const { base, spec } = this.unit!;
    if (wrote) this.writing++;
    this.edge = clock.indexFrom(base.clock.at(edge + spec.lookupCycles)) + syncBack;
    if (++this.done < this.jobs[0]!.lines) this.send();
    else this.settle();
  }

  /** A line that was written back for this core is in memory, as far as the core can tell, at `timePs`, now or later. */
  written(timePs: number): void {
    this.writing--;
    if (timePs > this.writtenPs) this.writtenPs = timePs;
    this.settle();
  }

  wake(): void {
    const { ask } = this.jobs.shift()!;
    this.busy = false;
    this.context.tasks!.done(ask, this.context.calendar.now);
    this.finished(this.edge);
  }

  private send(): void {
    const { clock } = this.place;
    const { care, firstLine, draw } = this.jobs[0]!;
    const at = clock.at(this.edge + this.core.maintenanceCycles);
    const usable = arrive(this.unit!.base.clock, at, this.syncIn);
    this.unit!.upkeep(this.number, firstLine + this.done, care, usable, draw(this.done));
  }

  /** Ends the job, once everything is back. */
  private settle(): void {
    if (!this.busy || this.ending || this.writing > 0 || this.done < this.jobs[0]!.lines) return;
    const clear = Math.max(this.context.finals.clearFrom(this.place.index), this.writtenPs);
    if (clear === Infinity) return;
    if (clear > 0) this.reach(clear);
    this.ending = true;
    this.edge += this.core.barrierCycles;
    const at = this.place.clock.at(this.edge);
    this.context.calendar.arm(this.carrier, Math.max(at, this.context.calendar.now));
  }

  private reach(timePs: number): void {
    const { clock, syncBack } = this.place;
    this.edge = Math.max(this.edge, clock.indexFrom(timePs) + syncBack);
  }
}
