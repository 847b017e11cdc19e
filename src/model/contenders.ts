// Hot path: read and written a few times per burst and lane. Columns in typed arrays; nothing is allocated per burst.
import { widen } from './bursts.js';

/**
 * The bursts whose answer has begun to come in at a lane on the way back, in no order: each with the hop at which the lane
 * is on its route, and when its next beat can leave, as far as is known.
 */
export class Contenders {
  slots = new Int32Array(8);
  hops = new Int32Array(8);
  due = new Float64Array(8);
  count = 0;

  /** One more burst, whose next beat can leave from `duePs` on. */
  add(slot: number, hop: number, duePs: number): void {
    if (this.count === this.slots.length) this.grow();
    this.slots[this.count] = slot;
    this.due[this.count] = duePs;
    this.hops[this.count++] = hop;
  }

  /** Where a burst stands, which is there. */
  placeOf(slot: number): number {
    let i = 0;
    while (this.slots[i] !== slot) i++;
    return i;
  }

  /** A burst goes; the last takes its place. */
  drop(slot: number): void {
    const place = this.placeOf(slot);
    const last = --this.count;
    this.slots[place] = this.slots[last]!;
    this.hops[place] = this.hops[last]!;
    this.due[place] = this.due[last]!;
  }

  private grow(): void {
    const size = this.count * 2;
    this.slots = widen(this.slots, new Int32Array(size));
    this.hops = widen(this.hops, new Int32Array(size));
    this.due = widen(this.due, new Float64Array(size));
  }
}
