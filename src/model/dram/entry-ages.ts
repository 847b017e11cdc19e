/**
 * Numbers the accesses of a controller by their order of entry. Each direction sends in one a cycle at most; of two that
 * come in one cycle, the lower input is first, then the lower master, then the read.
 */
export class EntryAges {
  private count = 0;
  /** By direction, of the access cut last. */
  private readonly age = new Float64Array(2);
  private readonly edge = new Float64Array(2).fill(-1);
  private readonly input = new Int32Array(2);
  private readonly master = new Int32Array(2);

  /** The age of an access cut at edge `edge` of the controller's clock. */
  next(isWrite: boolean, edge: number, input: number, master: number): number {
    const direction = isWrite ? 1 : 0;
    this.edge[direction] = edge;
    this.input[direction] = input;
    this.master[direction] = master;
    // every other number is left free for one that is told later and comes first
    this.count += 2;
    const before = this.edge[0] === this.edge[1] && (this.readFirst() ? 0 : 1) === direction;
    this.age[direction] = before ? this.age[1 - direction]! - 1 : this.count;
    return this.age[direction]!;
  }

  private readFirst(): boolean {
    const { input, master } = this;
    return input[0] !== input[1] ? input[0]! < input[1]! : master[0]! <= master[1]!;
  }
}
