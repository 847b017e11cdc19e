import type { Clock } from '../engine/clock.js';
import type { BufferSpec, MasterSpec } from '../scenario/scenario.js';
import { RequestSource } from '../traffic/request-source.js';
import type { CacheCounts } from './coherence/cache-counts.js';
import { CachedCore } from './coherence/cached-core.js';
import type { CoherenceUnit } from './coherence/coherence-unit.js';
import type { CoreSide } from './coherence/core-side.js';
import { UncachedCore } from './coherence/uncached-core.js';
import type { Context } from './context.js';
import type { IssueSide } from './issue-side.js';

/** What a core needs to know of where it stands. */
export interface CorePlace {
  readonly index: number;
  readonly clock: Clock;
  readonly baseAddress: number;
  readonly bufferBytes: number;
  /** Synchroniser cycles from the unit back into the core's clock. */
  readonly syncBack: number;
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
    unit: CoherenceUnit,
  ) {
    const source = new RequestSource(spec, place.bufferBytes, context.seed, context.replication);
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

  /** Draws the first request; call once, when routes are connected. */
  start(): void {
    this.runner.start();
  }
}
