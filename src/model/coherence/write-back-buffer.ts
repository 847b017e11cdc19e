import { QueueMeter, type Window } from '../window.js';
import { placeOf } from './place-of.js';

const NONE = -1;

/**
 * The bounded buffer of data on its way from the unit to memory: evicted dirty lines and writes that go through. A slot
 * is taken when the data leaves the cache and freed when memory has accepted it; until then lookups hit in it.
 */
export class WriteBackBuffer {
  readonly lines: Float64Array;
  private readonly whole: Uint8Array;
  /** By slot: the burst that carries the data, and the burst that waits for its acceptance (−1: none). */
  private readonly children: Int32Array;
  private readonly waiting: Int32Array;
  readonly meter: QueueMeter;
  private inUse = 0;

  constructor(
    readonly size: number,
    window: Window,
  ) {
    this.lines = new Float64Array(size).fill(NONE);
    this.whole = new Uint8Array(size);
    this.children = new Int32Array(size).fill(NONE);
    this.waiting = new Int32Array(size).fill(NONE);
    this.meter = new QueueMeter(window);
  }

  get full(): boolean {
    return this.inUse === this.size;
  }

  get length(): number {
    return this.inUse;
  }

  /** Is data of the line in the buffer? */
  holds(line: number): boolean {
    return this.inUse > 0 && placeOf(this.lines, line) >= 0;
  }

  /** Is only a part of the line in the buffer, so that a read must wait for memory to have it? */
  holdsPart(line: number): boolean {
    if (this.inUse === 0) return false;
    for (let place = 0; place < this.size; place++) {
      if (this.lines[place] === line && this.whole[place] === 0) return true;
    }
    return false;
  }

  /**
   * Takes a slot for data of `line`, all of it or a part, carried by burst `child`; `waiting` is answered when memory has
   * accepted it (−1: none).
   */
  take(line: number, whole: boolean, child: number, waiting: number, nowPs: number): void {
    if (this.full) throw new Error('write-back buffer: no slot is free');
    const place = placeOf(this.lines, NONE);
    this.lines[place] = line;
    this.whole[place] = whole ? 1 : 0;
    this.children[place] = child;
    this.waiting[place] = waiting;
    this.inUse++;
    this.meter.change(nowPs, 1);
  }

  /** Memory has accepted `child`: its slot is free. Answers the burst that waits for that, or −1. */
  accepted(child: number, nowPs: number): number {
    const place = placeOf(this.children, child);
    if (place < 0) throw new Error(`write-back buffer: burst ${child} is not in it`);
    this.lines[place] = NONE;
    this.children[place] = NONE;
    this.inUse--;
    this.meter.change(nowPs, -1);
    return this.waiting[place]!;
  }
}
