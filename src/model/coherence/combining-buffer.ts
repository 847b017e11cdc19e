import type { Window } from '../window.js';
import type { WantedRequest } from '../request-table.js';

/**
 * One write-combining buffer: stores that touch or overlap what it holds, within one line, become one write. Offsets are
 * relative to `base`, lines are aligned within the memory.
 */
export class CombiningBuffer {
  private first: WantedRequest | null = null;
  private low = 0;
  private high = 0;

  constructor(
    private readonly lineBytes: number,
    private readonly base: number,
  ) {}

  get empty(): boolean {
    return this.first === null;
  }

  /** Does it hold a whole line, or more? */
  get full(): boolean {
    return !this.empty && this.high - this.low >= this.lineBytes;
  }

  /** Can a store be merged with what is here? */
  takes(offset: number, bytes: number): boolean {
    if (this.empty) return true;
    const line = this.lineOf(this.low);
    return (
      this.lineOf(offset) === line &&
      this.lineOf(offset + bytes - 1) === line &&
      offset <= this.high &&
      offset + bytes >= this.low
    );
  }

  add(store: WantedRequest): void {
    const end = store.offset + store.bytes;
    this.low = this.empty ? store.offset : Math.min(this.low, store.offset);
    this.high = this.empty ? end : Math.max(this.high, end);
    this.first ??= store;
  }

  /** Takes out one write of all that was merged, wanted with its first store. */
  take(): WantedRequest {
    const first = this.first!;
    this.first = null;
    return { ...first, offset: this.low, bytes: this.high - this.low };
  }

  /** When the write that is here was wanted, if it was wanted inside the window. */
  wantedInside(window: Window): number[] {
    return this.first !== null && window.holds(this.first.wantedPs) ? [this.first.wantedPs] : [];
  }

  private lineOf(offset: number): number {
    return Math.floor((this.base + offset) / this.lineBytes);
  }
}
