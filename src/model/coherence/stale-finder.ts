import type { SystemSpec } from '../../scenario/scenario.js';
import { type Context, warn } from '../context.js';
import type { CoherenceUnit } from './coherence-unit.js';

/** What was found for one buffer and master. */
export interface StaleCount {
  readonly buffer: string;
  readonly master: string;
  /** Lines read that were dirty in a cache, and lines written under a cached copy. */
  reads: number;
  writes: number;
}

/**
 * Finds forgotten hand-overs: a burst that goes past the caches and reads a line whose current data is in one of them, or
 * writes under a copy that a cache keeps. Each is counted, within the window, and warned about, whenever it happens.
 */
export class StaleFinder {
  private readonly found = new Map<string, StaleCount>();

  constructor(
    private readonly context: Context,
    private readonly system: SystemSpec,
    private readonly units: readonly CoherenceUnit[],
  ) {}

  /** Could a line of this memory ever be in a cache? */
  watches(memory: string): boolean {
    return this.system.buffers.some((buffer) => buffer.memory === memory && buffer.cached !== 'no');
  }

  /** A burst of a master (by number) that no coherence unit has seen enters a memory (by name). */
  observe(master: number, write: boolean, memory: string, address: number, bytes: number): void {
    for (const unit of this.units) {
      const place = unit.lines.indexOf(memory);
      if (place < 0) continue;
      const lines = this.linesFound(unit, place, write, address, bytes);
      if (lines > 0) this.report(unit, master, write, memory, address, lines);
    }
  }

  /** All that was found, sorted by buffer, then master. */
  counts(): StaleCount[] {
    const key = (one: StaleCount): string => `${one.buffer}\u0000${one.master}`;
    return [...this.found.values()].toSorted((a, b) => (key(a) < key(b) ? -1 : 1));
  }

  private linesFound(unit: CoherenceUnit, memory: number, write: boolean, address: number, bytes: number): number {
    const last = unit.lines.lineOf(memory, address + bytes - 1);
    let count = 0;
    for (let line = unit.lines.lineOf(memory, address); line <= last; line++) {
      if (write ? unit.model.isCached(line) : unit.model.isDirty(line)) count++;
    }
    return count;
  }

  private report(
    unit: CoherenceUnit,
    master: number,
    write: boolean,
    memory: string,
    address: number,
    lines: number,
  ): void {
    const { context, system } = this;
    const name = system.masters[master]!.name;
    const buffer = this.bufferAt(memory, address);
    const what = write ? 'wrote under lines that a cache holds' : 'read lines that are dirty in a cache';
    warn(context, `${name} ${what}, in buffer ${buffer}: a hand-over is missing, or the buffer must not be cached`);
    if (!context.window.holds(context.calendar.now)) return;
    const key = `${buffer}\u0000${name}`;
    const count = this.found.get(key) ?? { buffer, master: name, reads: 0, writes: 0 };
    this.found.set(key, count);
    count[write ? 'writes' : 'reads'] += lines;
    if (!write) unit.counts.add(master, 'staleReads', context.calendar.now, lines);
  }

  private bufferAt(memory: string, address: number): string {
    const holder = this.system.buffers.find(
      (buffer) => buffer.memory === memory && address >= buffer.baseBytes && address < buffer.baseBytes + buffer.bytes,
    );
    return holder?.name ?? `${memory} at ${address}`;
  }
}
