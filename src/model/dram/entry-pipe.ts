/** The front end's pipeline in one direction: accesses on their way to a queue, one a cycle at most, in order. */
export class EntryPipe {
  private readonly channel: Int32Array;
  private readonly access: Int32Array;
  private readonly input: Int32Array;
  private readonly edge: Float64Array;
  private readonly mask: number;
  private first = 0;
  private count = 0;

  /** @param cycles its length */
  constructor(cycles: number) {
    let size = 4;
    while (size < cycles + 2) size *= 2;
    this.mask = size - 1;
    this.channel = new Int32Array(size);
    this.access = new Int32Array(size);
    this.input = new Int32Array(size);
    this.edge = new Float64Array(size);
  }

  push(channel: number, access: number, input: number, edge: number): void {
    const at = (this.first + this.count++) & this.mask;
    this.channel[at] = channel;
    this.access[at] = access;
    this.input[at] = input;
    this.edge[at] = edge;
  }

  /** Edge of the controller's clock at which the first one is through, or Infinity. */
  get headEdge(): number {
    return this.count === 0 ? Infinity : this.edge[this.first]!;
  }

  get headChannel(): number {
    return this.channel[this.first]!;
  }

  get headAccess(): number {
    return this.access[this.first]!;
  }

  get headInput(): number {
    return this.input[this.first]!;
  }

  /** Takes the first one out. */
  shift(): number {
    const access = this.access[this.first]!;
    this.first = (this.first + 1) & this.mask;
    this.count--;
    return access;
  }
}
