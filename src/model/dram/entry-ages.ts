import type { Access } from './access.js';

type Stamped = Pick<Access, 'direction' | 'master' | 'age'>;

/**
 * Numbers the accesses of a controller by their order of entry. Each direction sends in one a cycle at most; of two that
 * come in one cycle, the lower input is first, then the lower master, then the read.
 */
export class EntryAges {
  private count = 0;
  private readonly reads = new LastCut();
  private readonly writes = new LastCut();

  /** Gives its age to an access of which direction and master are set, cut at edge `edge` of the controller's clock. */
  stamp(access: Stamped, edge: number, input: number): void {
    const isWrite = access.direction === 1;
    const own = isWrite ? this.writes : this.reads;
    const other = isWrite ? this.reads : this.writes;
    own.edge = edge;
    own.input = input;
    own.master = access.master;
    // every other number is left free for one that is told later and comes first
    this.count += 2;
    const before = edge === other.edge && this.readFirst() !== isWrite;
    own.age = before ? other.age - 1 : this.count;
    access.age = own.age;
  }

  private readFirst(): boolean {
    const { reads, writes } = this;
    return reads.input !== writes.input ? reads.input < writes.input : reads.master <= writes.master;
  }
}

/** The access that one direction cut last; clocks and ages start as what is no whole number, so that they stay doubles. */
class LastCut {
  age = -0.5;
  edge = -0.5;
  input = 0;
  master = 0;
}
