// Hot path: a few calls per column access. Bytes are counted from the start of the burst's block of 4 KiB, so that whole
// numbers and shifts do; nothing is allocated.
import { BOUNDARY_BYTES } from '../../traffic/beats.js';
import { shiftOf, type Bursts } from '../bursts.js';

/** When the column accesses of the reads in flight have come back, and with them their beats. */
export class ReadPieces {
  private readonly perBurst: number;
  private readonly shift: number;
  private at: Float64Array;

  constructor(
    private readonly bursts: Bursts,
    accessBytes: number,
  ) {
    this.perBurst = Math.ceil(BOUNDARY_BYTES / accessBytes) + 1;
    this.shift = shiftOf(accessBytes);
    this.at = new Float64Array(64 * this.perBurst);
  }

  /** A read begins to be cut: none of its accesses is back. */
  start(slot: number): void {
    const base = slot * this.perBurst;
    if (base + this.perBurst > this.at.length) this.grow(base + this.perBurst);
    const end = base + this.last(slot) + 1;
    // a loop, as there are few and a call of `fill` costs more
    for (let i = base; i < end; i++) this.at[i] = Infinity;
  }

  /** Number of a burst's last access. */
  last(slot: number): number {
    const start = this.bursts.start[slot]!;
    return ((start + this.bursts.bytes[slot]! - 1) >> this.shift) - (start >> this.shift);
  }

  /** An access is back at `timePs`. */
  set(slot: number, piece: number, timePs: number): void {
    this.at[slot * this.perBurst + piece] = timePs;
  }

  /** First and last beat, at the controller's width, that hold bytes of an access. */
  firstBeat(slot: number, piece: number): number {
    const start = this.bursts.start[slot]!;
    const from = ((start >> this.shift) + piece) << this.shift;
    return this.beatOf(slot, from > start ? from : start);
  }

  lastBeat(slot: number, piece: number): number {
    const start = this.bursts.start[slot]!;
    const end = ((start >> this.shift) + piece + 1) << this.shift;
    const last = start + this.bursts.bytes[slot]!;
    return this.beatOf(slot, (end < last ? end : last) - 1);
  }

  /** Does each beat lie within one access, so that it is back when that is? */
  beatsAreNarrow(slot: number): boolean {
    return shiftOf(this.beatBytes(slot)) <= this.shift;
  }

  /** When all accesses that a beat spans are back; Infinity while one is not. */
  beatAt(slot: number, beat: number): number {
    const start = this.bursts.start[slot]!;
    const size = this.beatBytes(slot);
    const first = ((start >> shiftOf(size)) + beat) * size;
    const end = start + this.bursts.bytes[slot]!;
    const from = first > start ? first : start;
    const to = first + size < end ? first + size : end;
    const base = slot * this.perBurst - (start >> this.shift);
    let latest = 0;
    for (let k = from >> this.shift; k <= (to - 1) >> this.shift; k++) {
      if (this.at[base + k]! > latest) latest = this.at[base + k]!;
    }
    return latest;
  }

  private beatOf(slot: number, byte: number): number {
    const shift = shiftOf(this.beatBytes(slot));
    return (byte >> shift) - (this.bursts.start[slot]! >> shift);
  }

  private beatBytes(slot: number): number {
    const { hops } = this.bursts.routes[slot]!;
    return hops[hops.length - 1]!.beatBytes;
  }

  private grow(least: number): void {
    let size = this.at.length;
    while (size < least) size *= 2;
    const wider = new Float64Array(size);
    wider.set(this.at);
    this.at = wider;
  }
}
