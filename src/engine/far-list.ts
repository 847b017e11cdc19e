// Hot path where much lies far ahead: entries are pooled, and a carrier that is taken off leaves its entry behind, stale.
import FastPriorityQueue from 'fastpriorityqueue';
import { Place, type Carrier } from './carrier.js';

const { none: NONE, far: FAR } = Place;

/** A carrier as it was put on the list. */
interface Entry {
  time: number;
  rank: number;
  carrier: Carrier;
  /** Which arming of its carrier this entry is; an older one is stale and skipped. */
  arming: number;
}

const earlier = (a: Entry, b: Entry): boolean => (a.time !== b.time ? a.time < b.time : a.rank < b.rank);

/** Carriers that are due far from now, as a heap. */
export class FarList {
  /** When the first entry, stale or not, is due: what is sooner needs no look at the list. */
  due = Infinity;
  private readonly heap = new FastPriorityQueue<Entry>(earlier);
  private readonly pool: Entry[] = [];

  /** The first carrier, or null. */
  first(): Carrier | null {
    const { heap, pool } = this;
    for (let entry = heap.peek(); entry !== undefined; entry = heap.peek()) {
      const { carrier } = entry;
      this.due = entry.time;
      if (entry.arming === carrier.arming) return carrier;
      pool.push(entry);
      heap.poll();
    }
    this.due = Infinity;
    return null;
  }

  put(it: Carrier): void {
    const entry = this.pool.pop() ?? { time: 0.5, rank: 0.5, carrier: it, arming: 0 };
    entry.time = it.due;
    entry.rank = it.rank;
    entry.carrier = it;
    entry.arming = ++it.arming;
    this.heap.add(entry);
    if (entry.time < this.due) this.due = entry.time;
    it.place = FAR;
  }

  take(it: Carrier): void {
    it.arming++;
    it.place = NONE;
  }
}
