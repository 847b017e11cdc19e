import type { Bursts } from '../bursts.js';

/** No burst crosses this boundary (AXI4), so none has more accesses than fit into it. */
const BOUNDARY = 4096;

/** When the column accesses of the reads in flight have come back, and with them their beats. */
export class ReadPieces {
  private readonly perBurst: number;
  private at: Float64Array;

  constructor(
    private readonly bursts: Bursts,
    private readonly accessBytes: number,
  ) {
    this.perBurst = Math.ceil(BOUNDARY / accessBytes) + 1;
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
    const address = this.bursts.address[slot]!;
    const { accessBytes } = this;
    return Math.floor((address + this.bursts.bytes[slot]! - 1) / accessBytes) - Math.floor(address / accessBytes);
  }

  /** An access is back at `timePs`. */
  set(slot: number, piece: number, timePs: number): void {
    this.at[slot * this.perBurst + piece] = timePs;
  }

  /** First and last beat, at the controller's width, that hold bytes of an access. */
  firstBeat(slot: number, piece: number): number {
    const address = this.bursts.address[slot]!;
    const start = (Math.floor(address / this.accessBytes) + piece) * this.accessBytes;
    return this.beatOf(slot, start > address ? start : address);
  }

  lastBeat(slot: number, piece: number): number {
    const address = this.bursts.address[slot]!;
    const end = (Math.floor(address / this.accessBytes) + piece + 1) * this.accessBytes;
    const last = address + this.bursts.bytes[slot]!;
    return this.beatOf(slot, (end < last ? end : last) - 1);
  }

  /** When all accesses that a beat spans are back; Infinity while one is not. */
  beatAt(slot: number, beat: number): number {
    const address = this.bursts.address[slot]!;
    const size = this.beatBytes(slot);
    const start = (Math.floor(address / size) + beat) * size;
    const last = address + this.bursts.bytes[slot]!;
    const from = start > address ? start : address;
    const to = start + size < last ? start + size : last;
    const origin = Math.floor(address / this.accessBytes);
    const base = slot * this.perBurst - origin;
    let latest = 0;
    for (let k = Math.floor(from / this.accessBytes); k <= Math.floor((to - 1) / this.accessBytes); k++) {
      if (this.at[base + k]! > latest) latest = this.at[base + k]!;
    }
    return latest;
  }

  private beatOf(slot: number, byte: number): number {
    const size = this.beatBytes(slot);
    return Math.floor(byte / size) - Math.floor(this.bursts.address[slot]! / size);
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
