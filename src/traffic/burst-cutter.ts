// Hot path: once a burst; `next` fills fields and makes no objects.
import { alignedDown, BOUNDARY_BYTES, isBeatSize, MOST_BEATS } from './beats.js';

/**
 * Cuts requests into legal AXI4 INCR bursts of full-width beats, each as long as it may be: at most `maxBeats` beats,
 * counted from the aligned start, and never past a 4 KiB boundary (ARM IHI 0022 Issue E, A3.4.1).
 */
export class BurstCutter {
  /** First byte of the present burst. */
  address = 0;
  /** Bytes of the request that it carries. */
  bytes = 0;
  beats = 0;
  private end = 0;

  /** Throws a RangeError on a width that is no bus width and on beats outside 1 to 256. */
  constructor(
    private readonly widthBytes: number,
    private readonly maxBeats: number,
  ) {
    if (!isBeatSize(widthBytes))
      throw new RangeError(`width: must be a power of two up to 128 bytes, got ${widthBytes}`);
    if (!Number.isInteger(maxBeats) || maxBeats < 1 || maxBeats > MOST_BEATS) {
      throw new RangeError(`burst beats: must be 1 to ${MOST_BEATS}, got ${maxBeats}`);
    }
  }

  /** Takes up the request of `bytes` from `address` on; `next` goes to its first burst. */
  start(address: number, bytes: number): void {
    this.address = address;
    this.bytes = 0;
    this.beats = 0;
    this.end = address + bytes;
  }

  /** Goes to the next burst; false, with the fields as they were, when the request is cut up. */
  next(): boolean {
    const from = this.address + this.bytes;
    if (from >= this.end) return false;
    const { widthBytes } = this;
    const first = alignedDown(from, widthBytes);
    const boundary = alignedDown(from, BOUNDARY_BYTES) + BOUNDARY_BYTES;
    const longest = first + this.maxBeats * widthBytes;
    const most = longest < boundary ? longest : boundary;
    const until = this.end < most ? this.end : most;
    this.address = from;
    this.bytes = until - from;
    this.beats = Math.ceil((until - first) / widthBytes);
    return true;
  }
}
