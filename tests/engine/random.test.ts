import { describe, expect, it } from 'vitest';
import { keyedDraw, randomStream } from '../../src/engine/random.js';
import {
  chiSquare,
  chiSquareLimit,
  correlation,
  kolmogorov,
  KOLMOGOROV_1E4,
  NORMAL_1E4,
} from '../traffic/statistics.js';

const take = (count: number, draw: (index: number) => number): number[] =>
  Array.from({ length: count }, (_, index) => draw(index));

const first = (count: number, ...name: Parameters<typeof randomStream>): number[] => take(count, randomStream(...name));

describe('randomStream', () => {
  it('gives the same numbers for the same name, whatever other streams were read in between', () => {
    const alone = first(5, '7', 2, 'dma0', 'gap');
    const one = randomStream('7', 2, 'dma0', 'gap');
    const other = randomStream('7', 2, 'dma1', 'gap');
    const mixed = take(5, () => {
      other();
      return one();
    });
    expect(mixed).toEqual(alone);
  });

  it('differs by seed, replication, owner and purpose', () => {
    const names: Parameters<typeof randomStream>[] = [
      ['7', 2, 'dma0', 'gap'],
      ['8', 2, 'dma0', 'gap'],
      ['7', 3, 'dma0', 'gap'],
      ['7', 2, 'dma1', 'gap'],
      ['7', 2, 'dma0', 'size'],
    ];
    expect(new Set(names.map((name) => randomStream(...name)())).size).toBe(names.length);
  });

  it('keeps owner and purpose apart: a/1 with 2 is not a with 1/2, nor 1:a with b the same as a with 1:b', () => {
    expect(first(3, 's', 0, 'a/1', '2')).not.toEqual(first(3, 's', 0, 'a', '1/2'));
    expect(first(3, 's', 0, 'a1:b', 'c')).not.toEqual(first(3, 's', 0, 'a', 'b1:c'));
    expect(first(3, 's1', 0, 'a', 'b')).not.toEqual(first(3, 's', 10, 'a', 'b'));
  });

  it('takes a composed and a decomposed name as one', () => {
    const composed = 'caf\u00e9';
    const decomposed = 'cafe\u0301';
    expect(composed).not.toBe(decomposed);
    expect(first(3, composed, 0, composed, composed)).toEqual(first(3, decomposed, 0, decomposed, decomposed));
    expect(keyedDraw(composed, 0, composed, 'x')(1)).toBe(keyedDraw(decomposed, 0, decomposed, 'x')(1));
  });

  it('refuses an empty or undefined seed and a replication that is no whole number', () => {
    for (const seed of ['', undefined]) {
      expect(() => Reflect.apply(randomStream, null, [seed, 0, 'a', 'b'])).toThrow(/^seed: must be a text/);
      expect(() => Reflect.apply(keyedDraw, null, [seed, 0, 'a', 'b'])).toThrow(/^seed: must be a text/);
    }
    for (const replication of [-1, 0.5, Number.NaN]) {
      expect(() => randomStream('1', replication, 'a', 'b')).toThrow(/^replication: must be a whole number/);
    }
  });

  it('has 53 bits, in [0, 1), and is uniform (Kolmogorov, 1e-4)', () => {
    const sample = first(20_000, '1', 0, 'm', 'gap');
    expect(sample.every((u) => u >= 0 && u < 1 && Number.isInteger(u * 2 ** 53))).toBe(true);
    expect(sample.some((u) => !Number.isInteger(u * 2 ** 52))).toBe(true);
    expect(kolmogorov(sample, (x) => x)).toBeLessThan(KOLMOGOROV_1E4);
  });

  it('reads names to their end, however long', () => {
    const long = 'x'.repeat(5000);
    expect(first(3, 's', 0, `${long}a`, 'gap')).not.toEqual(first(3, 's', 0, `${long}b`, 'gap'));
  });

  it('starts without trend over neighbouring replications (chi-square of 100 cells and lag-1 correlation, 1e-4)', () => {
    const starts = take(20_000, (replication) => randomStream('1', replication, 'm', 'gap')());
    expect(chiSquare(cells(starts, 100))).toBeLessThan(chiSquareLimit(99));
    expect(lagged(starts)).toBeLessThan(NORMAL_1E4);
  });
});

describe('keyedDraw', () => {
  const draw = keyedDraw('1', 0, 'l2', 'victim');

  it('gives the same number for the same counters, in any order', () => {
    const forward = take(50, (n) => draw(n, 3, 7));
    const backward = take(50, (n) => draw(49 - n, 3, 7));
    expect(backward.toReversed()).toEqual(forward);
    expect(draw(4)).toBe(draw(4, 0, 0));
  });

  it('gives these draws: any other mixing would change every stored table', () => {
    const keys: [number, number?, number?][] = [[0], [1, 2, 3], [2 ** 40 + 5, -7, 2 ** 33], [-1, 2 ** 50, 9]];
    expect(keys.map((key) => draw(...key) * 2 ** 53)).toEqual([
      4296983126555625, 7770438183428471, 3208318280421615, 5918207150321169,
    ]);
  });

  it('tells counters apart by place, sign and what lies above 32 bits', () => {
    const keys: [number, number, number][] = [
      [0, 0, 0],
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
      [-1, 0, 0],
      [0, -1, 0],
      [2 ** 32, 0, 0],
      [2 ** 32 + 1, 0, 0],
      [0, 2 ** 32, 0],
      [0, 0, 2 ** 52],
      [2 ** 32 - 1, 0, 0],
    ];
    expect(new Set(keys.map((key) => draw(...key))).size).toBe(keys.length);
  });

  it('has no equal numbers among a million keys, as 53 bits should (odds of one: 6e-5)', () => {
    const seen = new Float64Array(1 << 20);
    for (let key = 0; key < seen.length; key++) seen[key] = draw(key & 1023, key >>> 10);
    seen.sort();
    expect(seen.findIndex((value, at) => value === seen[at + 1])).toBe(-1);
  });

  it('is uniform in [0, 1) along each counter (Kolmogorov, 1e-4 each)', () => {
    const along: ((n: number) => number)[] = [
      (n) => draw(n),
      (n) => draw(5, n),
      (n) => draw(5, 9, n),
      (n) => draw(-1 - n, 2),
      (n) => draw(n * 2 ** 33),
      (n) => draw(n * 64, n * 64),
    ];
    for (const line of along) {
      const sample = take(20_000, line);
      expect(sample.every((u) => u >= 0 && u < 1 && Number.isInteger(u * 2 ** 53))).toBe(true);
      expect(kolmogorov(sample, (x) => x)).toBeLessThan(KOLMOGOROV_1E4);
    }
  });

  it('falls into 101 cells evenly along each counter (chi-square, at the 1 % level each)', () => {
    // NIST/SEMATECH e-Handbook 1.3.6.7.4: 100 degrees of freedom, 0.99
    const limit = 135.807;
    const along: ((n: number) => number)[] = [(n) => draw(n), (n) => draw(5, n), (n) => draw(5, 9, n)];
    for (const line of along) expect(chiSquare(cells(take(101_000, line), 101))).toBeLessThan(limit);
  });

  it('does not follow the neighbouring key, along any counter (lag-1 correlation, 1e-4 each)', () => {
    const along: ((n: number) => number)[] = [(n) => draw(n), (n) => draw(5, n), (n) => draw(5, 9, n)];
    for (const line of along) expect(lagged(take(20_000, line))).toBeLessThan(NORMAL_1E4);
  });

  it('fills the plane of neighbouring keys evenly (chi-square of 32 × 32 cells, 1e-4 each)', () => {
    const neighbours: ((n: number) => [number, number])[] = [
      (n) => [draw(n, 0), draw(n + 1, 0)],
      (n) => [draw(n, 0), draw(n, 1)],
      (n) => [draw(0, n), draw(1, n)],
      (n) => [draw(0, 0, n), draw(0, 0, n ^ 1024)],
    ];
    for (const pair of neighbours) {
      const counts = Array.from({ length: 1024 }, () => 0);
      for (let n = 0; n < 60_000; n++) {
        const [x, y] = pair(n);
        counts[Math.floor(x * 32) * 32 + Math.floor(y * 32)]!++;
      }
      expect(chiSquare(counts)).toBeLessThan(chiSquareLimit(1023));
    }
  });

  it('turns half of the result over when one bit of a counter turns (1e-4 for all result bits together)', () => {
    const bits = 32;
    const turned = Array.from({ length: bits }, () => 0);
    const trials = 40_000;
    for (let n = 0; n < trials; n++) {
      const change = word(draw(n, n >>> 3)) ^ word(draw(n ^ (1 << (n % 20)), n >>> 3));
      for (let bit = 0; bit < bits; bit++) turned[bit]! += (change >>> bit) & 1;
    }
    for (const count of turned) expect(Math.abs(count / trials - 0.5) * 2 * Math.sqrt(trials)).toBeLessThan(4.8);
  });

  it('has nothing in common with the draws of another purpose, owner or replication (correlation, 1e-4 each)', () => {
    const n = 20_000;
    const others = [
      keyedDraw('1', 0, 'l2', 'hit'),
      keyedDraw('1', 0, 'l1', 'victim'),
      keyedDraw('1', 1, 'l2', 'victim'),
      keyedDraw('2', 0, 'l2', 'victim'),
    ];
    for (const other of others) {
      const pairs = take(n, (index) => index).map((index) => [draw(index), other(index)] as const);
      expect(Math.abs(correlation(pairs)) * Math.sqrt(n)).toBeLessThan(NORMAL_1E4);
    }
  });
});

function word(u: number): number {
  return Math.floor(u * 2 ** 32);
}

function cells(sample: readonly number[], count: number): number[] {
  const counts = Array.from({ length: count }, () => 0);
  for (const u of sample) counts[Math.floor(u * count)]!++;
  return counts;
}

/** Lag-1 correlation in its standard deviations. */
function lagged(sample: readonly number[]): number {
  const pairs = sample.slice(1).map((value, index) => [sample[index]!, value] as const);
  return Math.abs(correlation(pairs)) * Math.sqrt(pairs.length);
}
