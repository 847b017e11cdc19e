/**
 * Writes that an element on their way answered early, and that memory has not accepted yet. A core's barrier waits for its
 * own to become final, whatever their answers said.
 */
export class Finals {
  /** By master: writes that are on their way, and when the one that was accepted last was. */
  private readonly open: number[] = [];
  private readonly lastPs: number[] = [];
  /** By master: told when the last of them is accepted. */
  private readonly watchers: ((() => void) | null)[] = [];

  /** A write of a master sets out on a route on which it is answered early. */
  sent(master: number): void {
    this.open[master] = (this.open[master] ?? 0) + 1;
  }

  /** Memory accepts such a write at `timePs`, now or later. */
  accepted(master: number, timePs: number): void {
    this.open[master]!--;
    this.lastPs[master] = Math.max(this.lastPs[master] ?? 0, timePs);
    if (this.open[master] === 0) this.watchers[master]?.();
  }

  /** From when on nothing of the master's is open; Infinity while that is not known. */
  clearFrom(master: number): number {
    return (this.open[master] ?? 0) > 0 ? Infinity : (this.lastPs[master] ?? 0);
  }

  watch(master: number, told: () => void): void {
    this.watchers[master] = told;
  }
}
