/** A line on its way to memory, and from when on it is there; Infinity while that is not known. */
interface EarlyWrite {
  readonly slot: number;
  readonly line: number;
  finalPs: number;
}

/**
 * Lines that a cache sent to memory and that were answered early: their slots of the write-back buffer may be free again,
 * and memory may not have them yet.
 */
export class EarlyWrites {
  private writes: EarlyWrite[] = [];

  /** Burst `slot` carries the line to memory from now on. */
  sent(slot: number, line: number): void {
    this.writes.push({ slot, line, finalPs: Infinity });
  }

  /** Memory accepts what `slot` carries at `timePs`, now or later. */
  accepted(slot: number, timePs: number, nowPs: number): void {
    this.writes = this.writes.filter(({ finalPs }) => finalPs > nowPs);
    for (const write of this.writes) {
      if (write.slot === slot && write.finalPs === Infinity) write.finalPs = timePs;
    }
  }

  /** Is it not known yet when memory has what `slot` carries? */
  carries(slot: number): boolean {
    return this.writes.some((write) => write.slot === slot && write.finalPs === Infinity);
  }

  /** Is the line on its way? */
  holds(line: number, nowPs: number): boolean {
    return this.writes.some((write) => write.line === line && write.finalPs > nowPs);
  }

  /** When the next of them is known to be in memory; Infinity for none. */
  nextAfter(nowPs: number): number {
    let next = Infinity;
    for (const { finalPs } of this.writes) if (finalPs > nowPs && finalPs < next) next = finalPs;
    return next;
  }
}
