// Hot path: every element reads and writes burst records. State is in typed arrays, one column a field, so that no
// object is made per burst and no double is boxed; growth is by doubling in one place. Add no objects here.
import type { Clock } from '../engine/clock.js';
import { BOUNDARY_BYTES } from '../traffic/beats.js';
import type { Route } from './route.js';

/**
 * Operations, as numbers in the burst's record. Hot files copy them into a constant of their own: the compiler loads and
 * checks an import at each use, but takes a constant of the file as a number.
 */
export const READ = 0;
export const WRITE = 1;

/** What keeps a burst's slot in use. */
export const Pending = { response: 1, forward: 2 } as const;

const BOUNDARY = BOUNDARY_BYTES;
const { response: RESPONSE, forward: FORWARD } = Pending;

/**
 * The bursts in flight. A burst is a *slot*: an index into the columns below. Times are in ps.
 *
 * `beats` holds, per burst and hop, when each beat of its data is usable at that hop's element: forward for writes,
 * on the way back for reads. A beat that is not known yet is Infinity.
 */
export class Bursts {
  /** In which direction: READ or WRITE. */
  op = new Uint8Array(0);
  master = new Int32Array(0);
  /** Number of the burst within its master and direction. */
  number = new Float64Array(0);
  /** AXI ID, within the master. */
  id = new Int32Array(0);
  qos = new Int32Array(0);
  /** First byte, within the memory that holds it. */
  address = new Float64Array(0);
  bytes = new Int32Array(0);
  /** Its first byte within its block of 4 KiB, which no burst leaves: beats are reckoned from it in whole numbers. */
  start = new Int32Array(0);
  /** The request it belongs to, as a slot of the master's requests; −1 for none. */
  request = new Int32Array(0);
  /** A uniform draw in [0, 1) made with the request, for a device's service time. */
  serviceDraw = new Float64Array(0);
  /** By what its draws at a cache by ratios go: its number among those that the master wanted itself, or a task's own. */
  draw = new Float64Array(0);
  /** Of a task's request: its number within that; else 0. */
  part = new Int32Array(0);
  /** Hop at which the burst stands on its way forward. */
  hop = new Int32Array(0);
  /** Was it wanted inside the measuring window? */
  counted = new Uint8Array(0);

  wantedAt = new Float64Array(0);
  offeredAt = new Float64Array(0);
  acceptedAt = new Float64Array(0);
  /** When it can act at the element where it stands: the address, or the first beat, is in. */
  usableAt = new Float64Array(0);
  /** When its service began; Infinity until then, which for a write that is answered early may be after it is done. */
  enteredAt = new Float64Array(0);
  doneAt = new Float64Array(0);
  /** Of a write: when memory, or whatever it ends at, accepts it as final. */
  finalAt = new Float64Array(0);

  /** Per burst and hop: when the output was granted on the way forward (Infinity: not yet), and on the way back. */
  grantedAt = new Float64Array(0);
  /** Per burst and hop: when a write response is usable there. */
  responseAt = new Float64Array(0);
  /** Per burst and hop: beats already sent back. */
  sent = new Int32Array(0);
  /** Per burst and hop: 1 when the lane back of that hop knows of the burst. */
  announced = new Uint8Array(0);
  beats = new Float64Array(0);
  /** Per burst and hop: how many beats it has there. Set by `clearBeats`. */
  private beatCounts = new Int32Array(0);

  /** ID order at the first hop: the burst that must be answered before, the one after (−1: none). */
  orderBefore = new Int32Array(0);
  orderAfter = new Int32Array(0);
  /** Not answered before this instant, for the sake of ID order. */
  heldUntil = new Float64Array(0);
  /** 1: waits for its turn in ID order, its answer being in. */
  parked = new Uint8Array(0);
  /** What must still happen before the slot is free: RESPONSE and FORWARD. */
  pending = new Uint8Array(0);
  /** Free for the element that serves the burst (memory, device, coherence unit). */
  scratch = new Int32Array(0);

  readonly routes: (Route | null)[] = [];
  inFlight = 0;
  private freeSlots = new Int32Array(0);
  private freeCount = 0;
  private capacity = 0;

  /**
   * @param hops elements on the longest route
   * @param beatsPerHop beats of the longest burst at the narrowest element
   */
  constructor(
    readonly hops: number,
    readonly beatsPerHop: number,
  ) {
    this.grow(64);
  }

  /** A free slot for a burst on `route`; the caller fills op, master, address, bytes and wantedAt first thing. */
  allocate(route: Route): number {
    if (this.freeCount === 0) this.grow(this.capacity * 2);
    const slot = this.freeSlots[--this.freeCount]!;
    this.routes[slot] = route;
    this.hop[slot] = 0;
    this.request[slot] = -1;
    this.counted[slot] = 0;
    this.orderBefore[slot] = -1;
    this.orderAfter[slot] = -1;
    this.heldUntil[slot] = 0;
    this.parked[slot] = 0;
    this.scratch[slot] = 0;
    this.enteredAt[slot] = Infinity;
    this.inFlight++;
    return slot;
  }

  /** Counts the beats at every hop and clears their times; call once op, address and bytes are set. */
  clearBeats(slot: number): void {
    const { sent, announced, responseAt, grantedAt, beatCounts, beats, beatsPerHop } = this;
    const { hops } = this.routes[slot]!;
    const address = this.address[slot]!;
    const start = address - Math.floor(address / BOUNDARY) * BOUNDARY;
    this.start[slot] = start;
    this.pending[slot] = this.op[slot] === WRITE ? RESPONSE | FORWARD : RESPONSE;
    let at = slot * this.hops;
    let size = 0;
    let count = 0;
    for (let hop = 0; hop < hops.length; hop++, at++) {
      const { beatBytes } = hops[hop]!;
      // most elements of a route are as wide as the one before
      if (beatBytes !== size) {
        size = beatBytes;
        count = this.countBeats(slot, size);
      }
      sent[at] = 0;
      announced[at] = 0;
      responseAt[at] = Infinity;
      grantedAt[at] = Infinity;
      beatCounts[at] = count;
      const base = at * beatsPerHop;
      const end = base + count;
      // a loop, as there are few and a call of `fill` costs more
      for (let i = base; i < end; i++) beats[i] = Infinity;
    }
  }

  /** Makes a burst as long as `bytes`, where its answer is shorter than what it asked for; none of its beats has moved. */
  resize(slot: number, bytes: number): void {
    this.bytes[slot] = bytes;
    const { hops } = this.routes[slot]!;
    for (let hop = 0; hop < hops.length; hop++) {
      this.beatCounts[slot * this.hops + hop] = this.countBeats(slot, hops[hop]!.beatBytes);
    }
  }

  /** Takes back what was pending; frees the slot and answers true when nothing is left. */
  settle(slot: number, what: number): boolean {
    const left = this.pending[slot]! & ~what;
    this.pending[slot] = left;
    if (left !== 0) return false;
    this.routes[slot] = null;
    this.freeSlots[this.freeCount++] = slot;
    this.inFlight--;
    return true;
  }

  /** Where the beats of a burst at a hop start in `beats`. */
  beatBase(slot: number, hop: number): number {
    return (slot * this.hops + hop) * this.beatsPerHop;
  }

  /** How many beats the burst has at a hop. */
  beatCount(slot: number, hop: number): number {
    return this.beatCounts[slot * this.hops + hop]!;
  }

  private countBeats(slot: number, beatBytes: number): number {
    const shift = shiftOf(beatBytes);
    const start = this.start[slot]!;
    return ((start + this.bytes[slot]! - 1) >> shift) - (start >> shift) + 1;
  }

  /**
   * Beat `beat` of hop `from` reaches hop `to`, where it is usable at edge `edge` of `clock`. Narrow to wide: the wide beat
   * is there with its last byte; wide to narrow: all its narrow beats are there at once.
   */
  passBeat(slot: number, from: number, to: number, beat: number, clock: Clock, edge: number): void {
    const usablePs = clock.at(edge);
    const hops = this.routes[slot]!.hops;
    const sizeFrom = hops[from]!.beatBytes;
    const sizeTo = hops[to]!.beatBytes;
    const base = (slot * this.hops + to) * this.beatsPerHop;
    if (sizeFrom === sizeTo) {
      this.beats[base + beat] = usablePs;
      return;
    }
    const shiftFrom = shiftOf(sizeFrom);
    const shiftTo = shiftOf(sizeTo);
    const start = this.start[slot]!;
    const end = start + this.bytes[slot]!;
    const first = ((start >> shiftFrom) + beat) << shiftFrom;
    const low = first > start ? first : start;
    const high = first + sizeFrom < end ? first + sizeFrom : end;
    const origin = start >> shiftTo;
    const lastBeat = (high - 1) >> shiftTo;
    for (let k = low >> shiftTo; k <= lastBeat; k++) {
      const beatEnd = (k + 1) << shiftTo;
      if ((beatEnd < end ? beatEnd : end) <= high) this.beats[base + k - origin] = usablePs;
    }
  }

  private grow(capacity: number): void {
    const perHop = capacity * this.hops;
    this.op = widen(this.op, new Uint8Array(capacity));
    this.counted = widen(this.counted, new Uint8Array(capacity));
    this.parked = widen(this.parked, new Uint8Array(capacity));
    this.pending = widen(this.pending, new Uint8Array(capacity));
    this.master = widen(this.master, new Int32Array(capacity));
    this.id = widen(this.id, new Int32Array(capacity));
    this.qos = widen(this.qos, new Int32Array(capacity));
    this.bytes = widen(this.bytes, new Int32Array(capacity));
    this.start = widen(this.start, new Int32Array(capacity));
    this.request = widen(this.request, new Int32Array(capacity));
    this.part = widen(this.part, new Int32Array(capacity));
    this.draw = widen(this.draw, new Float64Array(capacity));
    this.hop = widen(this.hop, new Int32Array(capacity));
    this.scratch = widen(this.scratch, new Int32Array(capacity));
    this.orderBefore = widen(this.orderBefore, new Int32Array(capacity));
    this.orderAfter = widen(this.orderAfter, new Int32Array(capacity));
    this.number = widen(this.number, new Float64Array(capacity));
    this.address = widen(this.address, new Float64Array(capacity));
    this.serviceDraw = widen(this.serviceDraw, new Float64Array(capacity));
    this.wantedAt = widen(this.wantedAt, new Float64Array(capacity));
    this.offeredAt = widen(this.offeredAt, new Float64Array(capacity));
    this.acceptedAt = widen(this.acceptedAt, new Float64Array(capacity));
    this.usableAt = widen(this.usableAt, new Float64Array(capacity));
    this.enteredAt = widen(this.enteredAt, new Float64Array(capacity));
    this.doneAt = widen(this.doneAt, new Float64Array(capacity));
    this.finalAt = widen(this.finalAt, new Float64Array(capacity));
    this.heldUntil = widen(this.heldUntil, new Float64Array(capacity));
    this.grantedAt = widen(this.grantedAt, new Float64Array(perHop));
    this.responseAt = widen(this.responseAt, new Float64Array(perHop));
    this.sent = widen(this.sent, new Int32Array(perHop));
    this.beatCounts = widen(this.beatCounts, new Int32Array(perHop));
    this.announced = widen(this.announced, new Uint8Array(perHop));
    this.beats = widen(this.beats, new Float64Array(perHop * this.beatsPerHop));
    this.freeSlots = widen(this.freeSlots, new Int32Array(capacity));
    for (let slot = capacity - 1; slot >= this.capacity; slot--) {
      this.freeSlots[this.freeCount++] = slot;
      this.routes[slot] = null;
    }
    this.capacity = capacity;
  }
}

/** By how many places a byte's number is shifted to give its beat's: sizes are powers of two. */
export function shiftOf(size: number): number {
  return 31 - Math.clz32(size);
}

/** A wider column with the old values in front. */
export function widen<T extends Uint8Array | Int32Array | Float64Array>(old: T, next: T): T {
  next.set(old);
  return next;
}
