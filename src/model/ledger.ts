// Hot path: a port takes and gives back with every burst, so what is due lies in typed arrays, sorted by time. No time is
// passed or answered, since that would put it on the heap.
import type { Calendar } from '../engine/calendar.js';

/**
 * An amount that is taken at once and given back at stated instants: credits, outstanding places, bytes of return space.
 * What is given back is seen from its instant on.
 */
export class Ledger {
  /** When what `has` was asked for can be taken, as far as is known; Infinity if not. */
  opensAt = 0.5;
  private times = new Float64Array(16);
  private amounts = new Float64Array(16);
  private first = 0;
  private end = 0;

  /** @param available the amount at the start; may be Infinity. */
  constructor(private available: number) {}

  /** May `amount` be taken now? If not, `opensAt` is when it may. */
  has(amount: number, calendar: Pick<Calendar, 'now'>): boolean {
    const { now } = calendar;
    while (this.first < this.end && this.times[this.first]! <= now) this.available += this.amounts[this.first++]!;
    if (this.available >= amount) return true;
    let sum = this.available;
    let i = this.first;
    while (i < this.end && (sum += this.amounts[i]!) < amount) i++;
    this.opensAt = i < this.end ? this.times[i]! : Infinity;
    return false;
  }

  take(amount: number): void {
    this.available -= amount;
  }

  /** Gives back `amount`, seen from `timePs` on. */
  giveBack(amount: number, timePs: number): void {
    if (this.end === this.times.length) this.makeRoom();
    let i = this.end++;
    for (; i > this.first && this.times[i - 1]! > timePs; i--) {
      this.times[i] = this.times[i - 1]!;
      this.amounts[i] = this.amounts[i - 1]!;
    }
    this.times[i] = timePs;
    this.amounts[i] = amount;
  }

  /** Moves what is due to the front, into wider arrays where more than half of them is in use. */
  private makeRoom(): void {
    const count = this.end - this.first;
    const size = count * 2 > this.times.length ? this.times.length * 2 : this.times.length;
    const times = size === this.times.length ? this.times : new Float64Array(size);
    const amounts = size === this.amounts.length ? this.amounts : new Float64Array(size);
    // a loop: `subarray` would make an object each time
    for (let i = 0; i < count; i++) {
      times[i] = this.times[this.first + i]!;
      amounts[i] = this.amounts[this.first + i]!;
    }
    this.times = times;
    this.amounts = amounts;
    this.first = 0;
    this.end = count;
  }
}
