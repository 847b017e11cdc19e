/** The beat arithmetic of AXI bursts (ARM IHI 0022 Issue E, A3.4): sizes in bytes, addresses of bytes. */

/** A burst may not touch two blocks of this size (A3.4.1). */
export const BOUNDARY_BYTES = 4096;

/** Most beats of an AXI4 INCR burst (A3.4.1). */
export const MOST_BEATS = 256;

/** Most bytes in a beat (A3.4.1). */
export const MOST_BEAT_BYTES = 128;

export interface BurstShape {
  type: 'INCR' | 'WRAP' | 'FIXED';
  start: number;
  beats: number;
  /** Bytes per beat. */
  size: number;
  /** Width of the data bus, in bytes. */
  bus: number;
}

/** The multiple of `size` at or below `address`. */
export function alignedDown(address: number, size: number): number {
  return Math.floor(address / size) * size;
}

/** Beats that `bytes` from `start` on take, an unaligned start included. */
export function beatsNeeded(start: number, bytes: number, size: number): number {
  return Math.ceil((start - alignedDown(start, size) + bytes) / size);
}

/** Addresses of the beats of an INCR burst: only the first keeps an unaligned start. */
export function beatAddresses(start: number, size: number, beats: number): number[] {
  const first = alignedDown(start, size);
  return Array.from({ length: beats }, (_, beat) => (beat === 0 ? start : first + beat * size));
}

/** Addresses of the beats of a WRAP burst: they fold back at the end of the container of beats × size bytes. */
export function wrapAddresses(start: number, size: number, beats: number): number[] {
  const problem = burstProblem({ type: 'WRAP', start, beats, size, bus: size });
  if (problem !== null) throw new RangeError(problem);
  const container = beats * size;
  const lowest = alignedDown(start, container);
  return Array.from({ length: beats }, (_, beat) => lowest + ((start - lowest + beat * size) % container));
}

/** First and last byte lane of the beat at `address`: a byte always travels on lane address mod bus. */
export function byteLanes(address: number, size: number, bus: number): [first: number, last: number] {
  const first = address - alignedDown(address, bus);
  return [first, alignedDown(first, size) + size - 1];
}

/** Which rule of the protocol a burst breaks, in words; null if it is legal. */
export function burstProblem(burst: BurstShape, protocol: 'AXI3' | 'AXI4' = 'AXI4'): string | null {
  return sizeProblem(burst) ?? lengthProblem(burst, protocol) ?? placeProblem(burst);
}

function sizeProblem({ size, bus }: BurstShape): string | null {
  if (!isBeatSize(bus)) return `bus: must be 1 to ${MOST_BEAT_BYTES} bytes, a power of two, got ${bus}`;
  if (!isBeatSize(size)) return `beat size: must be 1 to ${MOST_BEAT_BYTES} bytes, a power of two, got ${size}`;
  return size <= bus ? null : `beat size: must be at most the bus width of ${bus} bytes, got ${size}`;
}

function lengthProblem({ type, beats }: BurstShape, protocol: 'AXI3' | 'AXI4'): string | null {
  if (type === 'WRAP') return [2, 4, 8, 16].includes(beats) ? null : `WRAP beats: must be 2, 4, 8 or 16, got ${beats}`;
  const most = type === 'INCR' && protocol === 'AXI4' ? MOST_BEATS : 16;
  const legal = Number.isInteger(beats) && beats >= 1 && beats <= most;
  return legal ? null : `${type} beats: must be 1 to ${most} on ${protocol}, got ${beats}`;
}

function placeProblem({ type, start, beats, size }: BurstShape): string | null {
  if (type === 'WRAP') return start % size === 0 ? null : `WRAP start: must be a multiple of ${size}, got ${start}`;
  if (type === 'FIXED') return null;
  const last = alignedDown(start, size) + beats * size - 1;
  const crosses = alignedDown(last, BOUNDARY_BYTES) !== alignedDown(start, BOUNDARY_BYTES);
  return crosses ? `INCR burst: must not cross a boundary of ${BOUNDARY_BYTES} bytes, got ${start} to ${last}` : null;
}

/** Is it a legal width of a beat or a bus? */
export function isBeatSize(bytes: number): boolean {
  return bytes >= 1 && bytes <= MOST_BEAT_BYTES && Number.isInteger(Math.log2(bytes));
}

/** How many beats of `width` bytes have their last byte within [low, high) of a burst that ends before `end`. */
export function wholeBeats(low: number, high: number, end: number, width: number): number {
  let whole = 0;
  for (let k = Math.floor(low / width); k * width < high; k++) {
    const last = (k + 1) * width;
    if ((last < end ? last : end) <= high) whole++;
  }
  return whole;
}

/** Bytes of a burst from `address` to before `end` in the beat of `size` that has the bytes from `beat` × `size` on. */
export function bytesOfBeat(address: number, end: number, beat: number, size: number): number {
  const start = beat * size;
  const low = start > address ? start : address;
  const high = start + size < end ? start + size : end;
  return high - low;
}
