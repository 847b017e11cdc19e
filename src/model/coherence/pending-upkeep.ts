import type { Care } from '../../scenario/scenario.js';
import type { Upkeep } from './upkeep.js';

/** A line that a core wants cleaned or invalidated. */
export interface LineUpkeep {
  readonly core: number;
  readonly line: number;
  readonly care: Care;
  readonly usableAt: number;
  readonly draw: number;
}

/** Lines that cores want cleaned or invalidated, at most one a core, and the write-backs that came of it. */
export class PendingUpkeep {
  private readonly keepers: Upkeep[] = [];
  private readonly lines: LineUpkeep[] = [];
  private readonly writing = new Map<number, Upkeep>();

  join(core: number, keeper: Upkeep): void {
    this.keepers[core] = keeper;
  }

  /** In the order in which they can be looked up; of one instant by core. */
  add(line: LineUpkeep): void {
    const place = this.lines.findIndex((one) => comesBefore(line, one));
    this.lines.splice(place < 0 ? this.lines.length : place, 0, line);
  }

  /** Those that can be looked up at `nowPs`. */
  *ready(nowPs: number): Iterable<LineUpkeep> {
    for (const line of this.lines) if (line.usableAt <= nowPs) yield line;
  }

  /** When the next can that cannot yet; Infinity for none. */
  nextAfter(nowPs: number): number {
    return this.lines.find(({ usableAt }) => usableAt > nowPs)?.usableAt ?? Infinity;
  }

  get count(): number {
    return this.lines.length;
  }

  /** A line was looked up at an edge of the unit's clock; `child` (−1: none) carries it to memory. */
  lookedUp(line: LineUpkeep, edge: number, child: number): void {
    this.lines.splice(this.lines.indexOf(line), 1);
    const keeper = this.keepers[line.core]!;
    if (child >= 0) this.writing.set(child, keeper);
    keeper.lookedUp(edge, child >= 0);
  }

  /** A burst of the unit's own is answered: it may be one of these. */
  written(child: number, timePs: number): void {
    const keeper = this.writing.get(child);
    if (keeper === undefined) return;
    this.writing.delete(child);
    keeper.written(timePs);
  }
}

function comesBefore(a: LineUpkeep, b: LineUpkeep): boolean {
  return a.usableAt !== b.usableAt ? a.usableAt < b.usableAt : a.core < b.core;
}
