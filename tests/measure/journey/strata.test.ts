import { expect, test } from 'vitest';
import { binOf, BINS, Strata } from '../../../src/measure/journey/strata.js';
import { Sums } from '../../../src/measure/statistics/sums.js';

test('bins are quarters of an octave, without gap, for all whole picoseconds that there can be', () => {
  expect([0, 1, 2, 3].map(binOf)).toEqual([0, 1, 2, 3]);
  for (let octave = 2; octave < 52; octave++) {
    const quarter = 2 ** (octave - 2);
    for (let k = 0; k < 4; k++) {
      const low = 2 ** octave + k * quarter;
      expect([binOf(low), binOf(low + quarter - 1)]).toEqual([4 * octave + k, 4 * octave + k]);
    }
  }
  expect(binOf(2 ** 52)).toBeLessThan(BINS);
});

test('a bin of which no burst was drawn is like the nearest one of which some were, of two the upper', () => {
  const strata = new Strata();
  for (const latencyPs of [1100, 1100, 1300, 1600, 5000]) strata.count(latencyPs);
  const [low, middle, high] = [1100, 1300, 1600].map(binOf) as [number, number, number];
  expect([middle - low, high - middle]).toEqual([1, 1]);
  const drawn = new Sums(BINS);
  drawn.add(low, 550);
  drawn.add(high, 3200);
  expect(strata.by(drawn)).toEqual([
    { bin: low, like: low, scale: 4 },
    { bin: middle, like: high, scale: 1300 / 3200 },
    { bin: high, like: high, scale: 0.5 },
    { bin: binOf(5000), like: high, scale: 5000 / 3200 },
  ]);
  expect(strata.by(new Sums(BINS)).map(({ scale }) => scale)).toEqual([0, 0, 0, 0]);
});

test('sums stay exact beyond what a double can count', () => {
  const sums = new Sums(2);
  for (let i = 0; i < 4; i++) sums.add(1, 2 ** 52 - 1);
  sums.add(1, 4);
  sums.grow(3);
  expect([sums.of(0), sums.of(1), sums.of(2)]).toEqual([0, 2 ** 54, 0]);
});
