// Hot path: asked at every lookup and every answer. Whole numbers below 4096, and no objects.
import { type Bursts, READ as READ_OP } from '../bursts.js';

const READ = READ_OP;

/**
 * How bursts lie on cache lines. Lines of a burst are numbered from 0 in address order; bytes are counted from the start of
 * its block of 4 KiB, in which a burst and whole lines lie.
 */
export class BurstLines {
  constructor(
    private readonly bursts: Bursts,
    private readonly lineBytes: number,
  ) {}

  /** How many lines the burst touches. */
  count(slot: number): number {
    const { lineBytes } = this;
    const start = this.bursts.start[slot]!;
    return Math.floor((start + this.bursts.bytes[slot]! - 1) / lineBytes) - Math.floor(start / lineBytes) + 1;
  }

  /** First byte of line `index`, be it the burst's or before it. */
  lineStart(slot: number, index: number): number {
    return (Math.floor(this.bursts.start[slot]! / this.lineBytes) + index) * this.lineBytes;
  }

  /** The burst's first byte in line `index`. */
  low(slot: number, index: number): number {
    return Math.max(this.bursts.start[slot]!, this.lineStart(slot, index));
  }

  /** The byte after its last in line `index`. */
  high(slot: number, index: number): number {
    const { start, bytes } = this.bursts;
    return Math.min(start[slot]! + bytes[slot]!, this.lineStart(slot, index) + this.lineBytes);
  }

  /** Which beat of the burst, where beats are `beatBytes` wide, carries a byte. */
  beatOf(slot: number, byte: number, beatBytes: number): number {
    return Math.floor(byte / beatBytes) - Math.floor(this.bursts.start[slot]! / beatBytes);
  }

  /** Address within its memory of a byte of the burst's block. */
  addressOf(slot: number, byte: number): number {
    return this.bursts.address[slot]! - this.bursts.start[slot]! + byte;
  }

  /** When line `index` can be looked up at the end of the burst's route, in ps: the address is there, or all its data. */
  arrivedAt(slot: number, index: number): number {
    const { bursts } = this;
    if (bursts.op[slot] === READ) return bursts.usableAt[slot]!;
    const { hops } = bursts.routes[slot]!;
    const hop = hops.length - 1;
    const beat = this.beatOf(slot, this.high(slot, index) - 1, hops[hop]!.beatBytes);
    return bursts.beats[bursts.beatBase(slot, hop) + beat]!;
  }
}
