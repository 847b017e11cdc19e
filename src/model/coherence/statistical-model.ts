// Hot path: one call per line looked up.
import type { Care, CoherenceSpec, SystemSpec } from '../../scenario/scenario.js';
import { type Access, type CacheModel, emptyAccess, type UnitServices, Want } from './cache-model.js';
import type { LineMap } from './line-map.js';
import type { MissEntries } from './miss-entries.js';
import { LineState } from './tag-store.js';
import type { WriteBackBuffer } from './write-back-buffer.js';

/** The draws of one line of a burst, each uniform in [0, 1) and from its own stream. */
export interface LineDraws {
  hit(slot: number, index: number): number;
  dirty(slot: number, index: number): number;
  /** Which line of the requester's buffer is written back. */
  victim(slot: number, index: number): number;
}

/** What the statistical model must know of a master. */
export interface Requester {
  readonly hitRatio: number;
  /** First line and lines of its buffer. */
  readonly firstLine: number;
  readonly lines: number;
}

/** What the model must know of the masters of a system, in their order. */
export function requestersOf(system: SystemSpec, map: LineMap, lineBytes: number): Requester[] {
  return system.masters.map(({ buffer: name, hitRatio }) => {
    const buffer = system.buffers.find((candidate) => candidate.name === name)!;
    const memory = map.indexOf(buffer.memory);
    const firstLine = memory < 0 ? 0 : map.lineOf(memory, buffer.baseBytes);
    return { hitRatio, firstLine, lines: Math.ceil(buffer.bytes / lineBytes) };
  });
}

/**
 * A shared cache by ratios: a lookup hits with the ratio that the master states; a miss evicts one line and, with the
 * dirty share, writes back a line of the requester's own buffer. It knows no lines, so nothing is shared, intervened in
 * or found stale: a core is granted what it asks for. Miss entries and write-back slots are real.
 */
export class StatisticalModel implements CacheModel {
  private readonly waiter = emptyAccess();

  constructor(
    private readonly spec: CoherenceSpec,
    private readonly unit: UnitServices,
    private readonly misses: MissEntries,
    private readonly buffer: WriteBackBuffer,
    private readonly requesters: readonly Requester[],
    private readonly draws: LineDraws,
  ) {}

  blocked(a: Access): boolean {
    if (this.misses.find(a.line) >= 0 || this.hits(a)) return false;
    if (this.goesThrough(a)) return this.buffer.full;
    if (this.evictsDirty(a) && this.buffer.full) return true;
    return !(a.want === Want.write && a.whole) && !this.misses.available(a.input);
  }

  lookup(a: Access): void {
    const { misses, unit } = this;
    const entry = misses.find(a.line);
    if (entry >= 0) {
      unit.looked(a, 'merged');
      misses.wait(entry, a.slot, a.index, unit.edge + this.spec.lookupCycles);
      return;
    }
    const hit = this.hits(a);
    unit.looked(a, hit ? 'hits' : 'misses');
    if (hit) this.serve(a);
    else this.miss(a);
  }

  fill(entry: number): void {
    const { misses, unit, waiter } = this;
    const first = unit.edge + this.spec.fillCycles;
    while (misses.firstSlot(entry) >= 0) {
      const slot = misses.firstSlot(entry);
      unit.describe(slot, misses.firstLine(entry), waiter);
      const edge = Math.max(first, misses.firstKnown(entry));
      misses.shift(entry);
      if (waiter.want === Want.write) unit.acceptLine(slot, waiter.index, edge, 0);
      else this.answer(waiter, edge);
    }
    misses.release(entry);
  }

  victimBlocked(): boolean {
    return false;
  }

  takeVictim(core: number, line: number): void {
    const { unit, spec } = this;
    if (unit.cores[core]!.victimDirty(line)) {
      unit.bookData(unit.edge + spec.lookupCycles, spec.lineBytes / spec.widthBytes);
    }
    unit.cores[core]!.forget(line);
  }

  upkeepBlocked(_line: number, care: Care, draw: number): boolean {
    return this.buffer.full && this.isWritten(care, draw);
  }

  /** Private caches have real tags, and give the line up; whether it is dirty the stated share decides. */
  upkeep(line: number, care: Care, a: Access, draw: number): number {
    for (const cache of this.unit.cores) {
      if (care === 'clean') cache.clean(line);
      else cache.snoop(line, true);
    }
    return this.isWritten(care, draw) ? this.unit.writeBack(line, a) : -1;
  }

  private isWritten(care: Care, draw: number): boolean {
    return care !== 'invalidate' && draw < this.spec.dirtyShare;
  }

  received(): void {}

  isDirty(): boolean {
    return false;
  }

  isCached(): boolean {
    return false;
  }

  private hits(a: Access): boolean {
    return this.draws.hit(a.slot, a.index) < this.requesters[a.master]!.hitRatio;
  }

  private evictsDirty(a: Access): boolean {
    return a.allocates && this.draws.dirty(a.slot, a.index) < this.spec.dirtyShare;
  }

  private goesThrough(a: Access): boolean {
    if (a.want !== Want.write) return false;
    return !a.allocates || (!a.whole && this.spec.partialWriteMiss === 'through');
  }

  private miss(a: Access): void {
    if (this.goesThrough(a)) {
      this.unit.passThrough(a);
      return;
    }
    if (a.allocates) this.evict(a);
    if (a.want === Want.write && a.whole) {
      this.serve(a);
      return;
    }
    const entry = this.misses.take(a.line, a.input, -1);
    this.misses.wait(entry, a.slot, a.index, this.unit.edge + this.spec.lookupCycles);
    this.misses.children[entry] = this.unit.fetch(a.line, a);
  }

  private evict(a: Access): void {
    this.unit.count(a.master, 'evictions');
    if (!this.evictsDirty(a)) return;
    const { firstLine, lines } = this.requesters[a.master]!;
    this.unit.writeBack(firstLine + Math.floor(this.draws.victim(a.slot, a.index) * lines), a);
  }

  private serve(a: Access): void {
    const { unit, spec } = this;
    const start = unit.bookData(unit.edge + spec.lookupCycles, a.beats);
    if (a.want === Want.write) unit.acceptLine(a.slot, a.index, start + a.beats, 0);
    else this.answer(a, start + spec.dataCycles);
  }

  private answer(a: Access, edge: number): void {
    this.unit.respond(a.slot, a.index, edge, 0);
    if (a.want === Want.read) return;
    this.unit.cores[a.core]!.grant(a.slot, a.want === Want.copy ? LineState.exclusive : LineState.modified, false);
  }
}
