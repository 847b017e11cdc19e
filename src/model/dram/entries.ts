/** Places for the accesses of one channel and direction; one freed at an instant can be taken only after it. */
export class Entries {
  /**
   * From when on the place given back next is free; instants never fall. A field, as a time that is passed is put on the heap.
   */
  freesAt = 0.5;
  private room: number;
  private readonly freedAt: Float64Array;
  private first = 0;
  private count = 0;

  constructor(readonly total: number) {
    this.room = total;
    this.freedAt = new Float64Array(total);
  }

  hasRoom(nowPs: number): boolean {
    while (this.count > 0 && this.freedAt[this.first]! < nowPs) {
      this.first = this.first + 1 === this.total ? 0 : this.first + 1;
      this.count--;
      this.room++;
    }
    return this.room > 0;
  }

  /** Has a place been freed at this very instant, so that there will be room right after it? */
  get soon(): boolean {
    return this.count > 0;
  }

  take(): void {
    this.room--;
  }

  /** Gives a place back. */
  free(): void {
    const at = this.first + this.count++;
    this.freedAt[at >= this.total ? at - this.total : at] = this.freesAt;
  }
}
