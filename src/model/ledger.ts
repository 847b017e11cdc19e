// Hot path: a port takes and gives back with every burst, so what is due lies in typed arrays, sorted by time.

/**
 * An amount that is taken at once and given back at stated instants: credits, outstanding places, bytes of return space.
 * What is given back is seen from its instant on.
 */
export class Ledger {
  private times = new Float64Array(16);
  private amounts = new Float64Array(16);
  private first = 0;
  private end = 0;

  /** @param available the amount at the start; may be Infinity. */
  constructor(private available: number) {}

  /** What may be taken at `nowPs`. */
  at(nowPs: number): number {
    while (this.first < this.end && this.times[this.first]! <= nowPs) this.available += this.amounts[this.first++]!;
    return this.available;
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

  /** The first instant at which `amount` can be taken, as far as is known; Infinity if not. */
  opensAt(amount: number, nowPs: number): number {
    let sum = this.at(nowPs);
    if (sum >= amount) return nowPs;
    for (let i = this.first; i < this.end; i++) {
      sum += this.amounts[i]!;
      if (sum >= amount) return this.times[i]!;
    }
    return Infinity;
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
