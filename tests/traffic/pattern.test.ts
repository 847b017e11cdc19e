import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { randomStream } from '../../src/engine/random.js';
import type { PatternSpec } from '../../src/scenario/scenario.js';
import { makePattern, MOST_LINES } from '../../src/traffic/pattern.js';
import { chiSquare, chiSquareLimit } from './statistics.js';

const pattern = (spec: PatternSpec, bufferBytes: number, seed = '1') =>
  makePattern(spec, bufferBytes, randomStream(seed, 0, 'm', 'address'), randomStream(seed, 0, 'm', 'layout'));

const offsets = (spec: PatternSpec, bufferBytes: number, sizes: number[], seed = '1'): number[] => {
  const source = pattern(spec, bufferBytes, seed);
  return sizes.map((bytes) => source.next(bytes));
};

const times = (count: number, bytes: number): number[] => Array.from({ length: count }, () => bytes);

describe('makePattern', () => {
  it('sequential goes on where the last request ended and wraps to 0 when the next would not fit', () => {
    expect(offsets({ pattern: 'sequential' }, 256, [64, 64, 100, 64, 256, 1, 8])).toEqual([0, 64, 128, 0, 0, 0, 1]);
    // the fourth ends with the buffer
    expect(offsets({ pattern: 'sequential' }, 256, times(5, 64))).toEqual([0, 64, 128, 192, 0]);
  });

  it('strided starts each request one stride on and wraps to 0 when it would not fit', () => {
    expect(offsets({ pattern: 'strided', strideBytes: 96 }, 256, times(5, 64))).toEqual([0, 96, 192, 0, 96]);
    expect(offsets({ pattern: 'strided', strideBytes: 16 }, 64, [32, 32, 32, 64])).toEqual([0, 16, 32, 0]);
    expect(offsets({ pattern: 'strided', strideBytes: 64 }, 256, times(5, 64))).toEqual([0, 64, 128, 192, 0]);
  });

  it('random takes every aligned place that fits equally often (chi-square, 1e-4)', () => {
    const counts = Array.from({ length: 13 }, () => 0);
    // 1000 − 232 = 768: places 0, 64 … 768
    for (const offset of offsets({ pattern: 'random', alignBytes: 64 }, 1000, times(20_000, 232))) {
      expect(offset % 64).toBe(0);
      counts[offset / 64]!++;
    }
    expect(chiSquare(counts)).toBeLessThan(chiSquareLimit(12));
  });

  it('zipf asks for the line of each rank in proportion to rank^−s (chi-square, 1e-4)', () => {
    const lines = 50;
    const exponent = 1.2;
    const counts = new Map<number, number>();
    for (const offset of offsets({ pattern: 'zipf', exponent, lineBytes: 64 }, lines * 64, times(50_000, 64))) {
      counts.set(offset / 64, (counts.get(offset / 64) ?? 0) + 1);
    }
    const weights = Array.from({ length: lines }, (_, index) => (index + 1) ** -exponent);
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    // the rank of a line is read off the same seed's permutation: a stream of its own gives the lines in order of rank
    const byRank = linesByRank(lines, exponent);
    const found = byRank.map((line) => counts.get(line) ?? 0);
    expect(
      chiSquare(
        found,
        weights.map((weight) => weight / total),
      ),
    ).toBeLessThan(chiSquareLimit(lines - 1));
  });

  it('zipf scatters the popular lines over the buffer, by seed', () => {
    const one = linesByRank(64, 1);
    expect(one.toSorted((a, b) => a - b)).toEqual(Array.from({ length: 64 }, (_, line) => line));
    expect(one).not.toEqual(one.toSorted((a, b) => a - b));
    expect(linesByRank(64, 1, '2')).not.toEqual(one);
  });

  it('zipf with exponent 0 asks for all lines alike (chi-square, 1e-4)', () => {
    const counts = Array.from({ length: 16 }, () => 0);
    for (const offset of offsets({ pattern: 'zipf', exponent: 0, lineBytes: 32 }, 512, times(20_000, 32))) {
      counts[offset / 32]!++;
    }
    expect(chiSquare(counts)).toBeLessThan(chiSquareLimit(15));
  });

  it('chain visits every line once before it comes back, in an order of the seed', () => {
    const lines = 1000;
    const walk = offsets({ pattern: 'chain', lineBytes: 64 }, lines * 64, times(2 * lines, 8));
    expect(new Set(walk.slice(0, lines)).size).toBe(lines);
    expect(walk.slice(lines)).toEqual(walk.slice(0, lines));
    const ahead = walk.filter((offset, index) => index > 0 && offset === walk[index - 1]! + 64).length;
    expect(ahead).toBeLessThan(20);
    expect(offsets({ pattern: 'chain', lineBytes: 64 }, lines * 64, times(lines, 8), '2')).not.toEqual(
      walk.slice(0, lines),
    );
  });

  it('chain draws every one of the cycles through four lines equally often (chi-square of 3! cycles, 1e-4)', () => {
    const counts = new Map<string, number>();
    for (let seed = 0; seed < 3000; seed++) {
      const walk = offsets({ pattern: 'chain', lineBytes: 1 }, 4, times(4, 1), `s${seed}`).join();
      counts.set(walk, (counts.get(walk) ?? 0) + 1);
    }
    expect(counts.size).toBe(6);
    expect(chiSquare([...counts.values()])).toBeLessThan(chiSquareLimit(5));
  });

  it('keeps every request of any size within the buffer, whatever the pattern', () => {
    const specs: fc.Arbitrary<PatternSpec> = fc.oneof(
      fc.constant<PatternSpec>({ pattern: 'sequential' }),
      fc.record({ pattern: fc.constant('strided' as const), strideBytes: fc.integer({ min: 1, max: 6000 }) }),
      fc.record({ pattern: fc.constant('random' as const), alignBytes: fc.integer({ min: 1, max: 6000 }) }),
      fc.record({
        pattern: fc.constant('zipf' as const),
        exponent: fc.double({ min: 0, max: 3, noNaN: true }),
        lineBytes: fc.constantFrom(1, 16, 64),
      }),
      fc.record({ pattern: fc.constant('chain' as const), lineBytes: fc.constantFrom(1, 16, 64) }),
    );
    const property = fc.property(
      specs,
      fc.integer({ min: 64, max: 5000 }),
      fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 40 }),
      (spec, bufferBytes, shares) => {
        const source = pattern(spec, bufferBytes);
        for (const share of shares) {
          const bytes = 1 + Math.floor(share * (bufferBytes - 1));
          const offset = source.next(bytes);
          expect(Number.isInteger(offset) && offset >= 0 && offset + bytes <= bufferBytes).toBe(true);
        }
      },
    );
    fc.assert(property, { seed: 21, numRuns: 400 });
  });

  it('refuses more lines than it can keep, and says what to write', () => {
    const bufferBytes = (MOST_LINES + 1) * 64;
    for (const spec of [
      { pattern: 'chain', lineBytes: 64 },
      { pattern: 'zipf', exponent: 1, lineBytes: 64 },
    ] as const) {
      expect(() => pattern(spec, bufferBytes)).toThrow(
        'pattern: must have at most 4194304 lines, got 4194305; write lines of at least 65 bytes or a smaller buffer',
      );
    }
  });

  it('refuses parameters outside their range', () => {
    const wrong: PatternSpec[] = [
      { pattern: 'strided', strideBytes: 0 },
      { pattern: 'random', alignBytes: 0.5 },
      { pattern: 'zipf', exponent: -1, lineBytes: 64 },
      { pattern: 'zipf', exponent: 1, lineBytes: 0 },
      { pattern: 'chain', lineBytes: 8192 },
    ];
    for (const spec of wrong) expect(() => pattern(spec, 4096)).toThrow(RangeError);
  });
});

/** The lines in order of rank, seen from outside: the number that falls in the middle of each rank's share. */
function linesByRank(lines: number, exponent: number, seed = '1'): number[] {
  const weights = Array.from({ length: lines }, (_, index) => (index + 1) ** -exponent);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  let below = 0;
  const middles = weights.map((weight) => (below += weight) - weight / 2);
  let rank = 0;
  const probe = () => middles[rank++]! / total;
  const layout = randomStream(seed, 0, 'm', 'layout');
  const source = makePattern({ pattern: 'zipf', exponent, lineBytes: 64 }, lines * 64, probe, layout);
  return weights.map(() => source.next(64) / 64);
}
