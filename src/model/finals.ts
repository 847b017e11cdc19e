/** An element that sends writes of its own, and is told when one that is answered early is final. */
export interface EarlySender {
  /** Memory accepts what burst `slot` carries at `timePs`, now or later. */
  childFinal(slot: number, timePs: number): void;
}

/**
 * Writes that an element on their way answered early, and that memory has not accepted yet. A core's barrier waits for its
 * own to become final, whatever their answers said; what a cache writes back is a matter of the cache.
 */
export class Finals {
  /** By burst: the element that sent it on its own account. */
  private readonly senders = new Map<number, EarlySender>();
  /** By master: writes that are on their way, and when the one that was accepted last was. */
  private readonly open: number[] = [];
  private readonly lastPs: number[] = [];
  /** By master: told when the last of them is accepted. */
  private readonly watchers: ((() => void) | null)[] = [];

  /** A write of a master sets out on a route on which it is answered early. */
  sent(master: number): void {
    this.open[master] = (this.open[master] ?? 0) + 1;
  }

  /** A write of an element's own sets out on such a route. */
  sentBy(sender: EarlySender, slot: number): void {
    this.senders.set(slot, sender);
  }

  /** Memory accepts such a write at `timePs`, now or later. */
  accepted(slot: number, master: number, timePs: number): void {
    const sender = this.senders.get(slot);
    if (sender !== undefined) {
      this.senders.delete(slot);
      sender.childFinal(slot, timePs);
      return;
    }
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
