// Hot path: one push and one pop per burst. A ring that grows by doubling; nothing is allocated per burst.

/** Burst slots, first in, first out. */
export class SlotFifo {
  length = 0;
  private ring = new Int32Array(16);
  private first = 0;

  /** The slot that is next; there must be one. */
  get head(): number {
    return this.ring[this.first]!;
  }

  push(slot: number): void {
    if (this.length === this.ring.length) this.grow();
    this.ring[(this.first + this.length++) & (this.ring.length - 1)] = slot;
  }

  /** Takes out the head; there must be one. */
  shift(): number {
    const slot = this.ring[this.first]!;
    this.first = (this.first + 1) & (this.ring.length - 1);
    this.length--;
    return slot;
  }

  private grow(): void {
    const ring = new Int32Array(this.ring.length * 2);
    for (let i = 0; i < this.length; i++) ring[i] = this.ring[(this.first + i) & (this.ring.length - 1)]!;
    this.ring = ring;
    this.first = 0;
  }
}
