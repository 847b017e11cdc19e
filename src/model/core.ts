import type { BufferSpec, MasterSpec } from '../scenario/scenario.js';
import { RequestSource } from '../traffic/request-source.js';
import type { CacheCounts } from './coherence/cache-counts.js';
import { CachedCore } from './coherence/cached-core.js';
import type { CoherenceUnit } from './coherence/coherence-unit.js';
import type { CoreSide } from './coherence/core-side.js';
import type { UpkeepJob } from './coherence/upkeep.js';
import { UncachedCore } from './coherence/uncached-core.js';
import type { Context } from './context.js';
import type { IssueSide } from './issue-side.js';
import type { MasterPlace } from './master.js';

/** What a core needs to know of where it stands. */
export interface CorePlace extends MasterPlace {
  readonly buffer: BufferSpec;
}

/**
 * A processor core: a master that runs the accesses of its pattern in order. On a cached buffer it has a private cache in
 * front of the coherence unit; on any other its accesses go past the caches one by one.
 */
export class Core {
  readonly reads: IssueSide | CoreSide;
  readonly writes: IssueSide | CoreSide;
  /** Counters of the private cache; null where the buffer is not cached. */
  readonly counts: CacheCounts | null;
  private readonly runner: CachedCore | UncachedCore;

  constructor(
    context: Context,
    readonly spec: MasterSpec,
    place: CorePlace,
    private readonly unit: CoherenceUnit,
  ) {
    const source = new RequestSource(spec, place.bufferBytes, context.seed, context.replication, place.atDevice);
    if (place.buffer.cached === 'yes') {
      const cached = new CachedCore(context, spec, place, source, unit);
      this.counts = cached.counts;
      this.runner = cached;
    } else {
      const combineBytes = place.buffer.cached === 'combine' ? unit.spec.lineBytes : null;
      this.counts = null;
      this.runner = new UncachedCore(context, spec, { ...place, combineBytes }, source);
    }
    this.reads = this.runner.reads;
    this.writes = this.runner.writes;
  }

  /** A task wants an access now; see `Master.ask`. */
  ask(write: boolean, address: number, bytes: number, serviceDraw: number, ask: number, drawKey: number): void {
    if (this.runner instanceof CachedCore) this.runner.ask(write, address, bytes, ask, drawKey);
    else this.runner.ask(write, address, bytes, serviceDraw, ask);
  }

  /** A task wants the core to clean or invalidate what it hands over or takes back: bytes of its memory. */
  maintain(
    { startBytes, bytes }: { startBytes: number; bytes: number },
    work: Omit<UpkeepJob, 'firstLine' | 'lines'>,
  ): void {
    if (!(this.runner instanceof CachedCore) || work.care === 'barrier') {
      this.runner.maintain({ ...work, firstLine: 0, lines: 0 });
      return;
    }
    const { lines } = this.unit;
    const { refill } = this.runner.reads.route;
    const firstLine = lines.lineOf(refill, startBytes);
    this.runner.maintain({ ...work, firstLine, lines: lines.lineOf(refill, startBytes + bytes - 1) - firstLine + 1 });
  }

  /** Draws the first request; call once, when routes are connected. */
  start(): void {
    this.runner.start();
  }
}
