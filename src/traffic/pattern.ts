import type { RandomStream } from '../engine/random.js';
import type { PatternSpec } from '../scenario/scenario.js';
import { runningSums, weightedIndex } from './cumulative.js';

/** Where requests go: offsets within a buffer. */
export interface AddressSource {
  /** Offset of the next request; it and its `bytes`, which the buffer must hold, stay within the buffer. */
  next(bytes: number): number;
}

/** Most lines that a Zipf or chain pattern keeps: 48 MiB of tables for a Zipf master. */
export const MOST_LINES = 2 ** 22;

/**
 * Makes the pattern over a buffer of `bufferBytes`. `random` gives one number per request where the pattern draws at
 * all; `layout` is read here only, for the order of lines.
 *
 * Throws a RangeError on parameters outside their range, and when a Zipf or chain pattern has more lines than fit.
 */
export function makePattern(
  spec: PatternSpec,
  bufferBytes: number,
  random: RandomStream,
  layout: RandomStream,
): AddressSource {
  demand('buffer', bufferBytes);
  switch (spec.pattern) {
    case 'sequential':
      return new Sequential(bufferBytes);
    case 'strided':
      return new Strided(bufferBytes, demand('stride', spec.strideBytes));
    case 'random':
      return new AnyPlace(bufferBytes, demand('alignment', spec.alignBytes), random);
    case 'zipf':
      return new PopularLines(bufferBytes, demand('line', spec.lineBytes), spec.exponent, random, layout);
    default:
      return new Chain(bufferBytes, demand('line', spec.lineBytes), layout);
  }
}

/** Each request follows on the one before; one that would not fit starts again at 0. */
class Sequential implements AddressSource {
  private at = 0;

  constructor(private readonly bufferBytes: number) {}

  next(bytes: number): number {
    const offset = this.at + bytes <= this.bufferBytes ? this.at : 0;
    this.at = offset + bytes;
    return offset;
  }
}

/** Each request starts one stride after the one before; one that would not fit starts again at 0. */
class Strided implements AddressSource {
  private at = 0;

  constructor(
    private readonly bufferBytes: number,
    private readonly strideBytes: number,
  ) {}

  next(bytes: number): number {
    const offset = this.at + bytes <= this.bufferBytes ? this.at : 0;
    this.at = offset + this.strideBytes;
    return offset;
  }
}

/** Each aligned place where the request fits is as likely as any other. */
class AnyPlace implements AddressSource {
  constructor(
    private readonly bufferBytes: number,
    private readonly alignBytes: number,
    private readonly random: RandomStream,
  ) {}

  next(bytes: number): number {
    const places = Math.floor((this.bufferBytes - bytes) / this.alignBytes) + 1;
    return Math.floor(this.random() * places) * this.alignBytes;
  }
}

/**
 * The line of rank r (from 1 on) is asked for in proportion to r^−exponent, by exact inversion; which line has which rank
 * is a permutation of its own per replication. A request longer than a line moves back to where it fits.
 */
class PopularLines implements AddressSource {
  private readonly sums: Float64Array;
  private readonly lineOfRank: Uint32Array;

  constructor(
    private readonly bufferBytes: number,
    private readonly lineBytes: number,
    exponent: number,
    private readonly random: RandomStream,
    layout: RandomStream,
  ) {
    if (!(exponent >= 0 && exponent < Infinity)) {
      throw new RangeError(`zipf exponent: must be 0 or more, got ${exponent}`);
    }
    const lines = countLines(bufferBytes, lineBytes);
    this.sums = runningSums(lines, (index) => (index + 1) ** -exponent);
    this.lineOfRank = shuffledLines(lines, layout);
  }

  next(bytes: number): number {
    const line = this.lineOfRank[weightedIndex(this.sums, this.random())]!;
    return fitted(line * this.lineBytes, bytes, this.bufferBytes, this.lineBytes);
  }
}

/** Each line names the next, in one cycle through all of them; a request longer than a line moves back to where it fits. */
class Chain implements AddressSource {
  private readonly following: Uint32Array;
  private line = 0;

  constructor(
    private readonly bufferBytes: number,
    private readonly lineBytes: number,
    layout: RandomStream,
  ) {
    this.following = oneCycle(countLines(bufferBytes, lineBytes), layout);
  }

  next(bytes: number): number {
    const { line } = this;
    this.line = this.following[line]!;
    return fitted(line * this.lineBytes, bytes, this.bufferBytes, this.lineBytes);
  }
}

function fitted(offset: number, bytes: number, bufferBytes: number, lineBytes: number): number {
  if (offset + bytes <= bufferBytes) return offset;
  return Math.floor((bufferBytes - bytes) / lineBytes) * lineBytes;
}

function countLines(bufferBytes: number, lineBytes: number): number {
  const lines = Math.floor(bufferBytes / lineBytes);
  if (lines < 1)
    throw new RangeError(`pattern: the buffer (${bufferBytes} bytes) must hold a line of ${lineBytes} bytes`);
  if (lines > MOST_LINES) {
    const least = Math.ceil(bufferBytes / MOST_LINES);
    throw new RangeError(
      `pattern: must have at most ${MOST_LINES} lines, got ${lines}; write lines of at least ${least} bytes or a smaller buffer`,
    );
  }
  return lines;
}

/** Every order equally likely (Durstenfeld, CACM 1964, algorithm 235). */
function shuffledLines(lines: number, random: RandomStream): Uint32Array {
  const order = Uint32Array.from({ length: lines }, (_, index) => index);
  for (let last = lines - 1; last > 0; last--) swap(order, last, Math.floor(random() * (last + 1)));
  return order;
}

/** Every cyclic permutation equally likely: never swaps a line with itself (Sattolo, Inf. Proc. Letters 22, 1986). */
function oneCycle(lines: number, random: RandomStream): Uint32Array {
  const order = Uint32Array.from({ length: lines }, (_, index) => index);
  for (let last = lines - 1; last > 0; last--) swap(order, last, Math.floor(random() * last));
  return order;
}

function swap(order: Uint32Array, one: number, other: number): void {
  const kept = order[one]!;
  order[one] = order[other]!;
  order[other] = kept;
}

function demand(what: string, bytes: number): number {
  if (!Number.isSafeInteger(bytes) || bytes < 1) {
    throw new RangeError(`pattern: ${what} must be a whole number of bytes above 0, got ${bytes}`);
  }
  return bytes;
}
