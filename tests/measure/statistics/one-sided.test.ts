import { xor4096 } from 'seedrandom';
import { describe, expect, it } from 'vitest';
import { type Above, meanAgainst, noneBound, shareAgainst } from '../../../src/measure/statistics/one-sided.js';
import { studentQuantile } from '../../../src/measure/statistics/student.js';

const exactly = (samples: number, above: number): Above => ({ samples, surely: above, atWorst: above });

describe('a mean against a limit', () => {
  // mean 20, deviation 1, half = t(3, .95)/2 = 1.1767
  const values = [19, 19.5, 20.5, 21].map((value) => 20 + (value - 20) / Math.sqrt(5 / 6));

  it('is inside where the upper bound is, outside where the lower bound is', () => {
    const half = studentQuantile(0.95, 3) / 2;
    expect(half).toBeCloseTo(1.1767, 4);
    expect(meanAgainst(values, 20 + half + 1e-6)).toBe('inside');
    expect(meanAgainst(values, 20 + half - 1e-6)).toBe('open');
    expect(meanAgainst(values, 20 - half + 1e-6)).toBe('open');
    expect(meanAgainst(values, 20 - half - 1e-6)).toBe('outside');
  });

  it('compares replications that do not differ as they are', () => {
    expect(meanAgainst([5, 5, 5], 5)).toBe('inside');
    expect(meanAgainst([5, 5, 5], 4.999)).toBe('outside');
  });
});

describe('a share against what is allowed', () => {
  it('takes what had not come back as a miss on the one side and not on the other', () => {
    const parts = (atWorst: number) => Array.from({ length: 5 }, () => ({ samples: 10_000, surely: 0, atWorst }));
    expect(shareAgainst(parts(0), 0.01)).toBe('inside');
    expect(shareAgainst(parts(400), 0.01)).toBe('open');
    expect(
      shareAgainst(
        [...parts(400)].map((part) => ({ ...part, surely: 400 })),
        0.01,
      ),
    ).toBe('outside');
  });

  it('does not take a few samples without a miss for proof', () => {
    // q·N > t·√(q(1−q)N) needs N > t²(1−q)/q = 332.7 with ten replications and q = 1 %
    expect(
      shareAgainst(
        Array.from({ length: 10 }, () => exactly(33, 0)),
        0.01,
      ),
    ).toBe('open');
    expect(
      shareAgainst(
        Array.from({ length: 10 }, () => exactly(34, 0)),
        0.01,
      ),
    ).toBe('inside');
  });
});

/** A study at the very limit: ten replications of about 2,000 samples; misses come in runs of `run` on average. */
function study(seed: string, run: number): Above[] {
  const random = xor4096(seed);
  return Array.from({ length: 10 }, () => {
    const samples = 1900 + Math.floor(200 * random());
    let above = 0;
    let miss = random() < 0.05;
    for (let i = 0; i < samples; i++) {
      if (miss) above++;
      // stationary share of misses 5 %, mean length of a run of them `run`
      miss = miss ? random() >= 1 / run : random() < 0.05 / 0.95 / run;
    }
    return exactly(samples, above);
  });
}

/** Both errors are promised to be at most 5 %; 600 studies show 8.2 % of them or more by chance once in 2,700. */
describe.each([1.0527, 5, 20])('at the limit, with misses in runs of %d', (run) => {
  it('errs on either side at most as often as promised', () => {
    const sides = Array.from({ length: 600 }, (_, i) => shareAgainst(study(`limit/${run}/${i}`, run), 0.05));
    const rate = (side: string): number => sides.filter((found) => found === side).length / sides.length;
    expect(rate('inside')).toBeLessThan(0.082);
    expect(rate('outside')).toBeLessThan(0.082);
    expect(rate('inside') + rate('outside')).toBeGreaterThan(0.04);
  });
});

it('no miss in ten runs leaves a quarter of runs that may hold one', () => {
  expect(noneBound(10)).toBeCloseTo(0.2589, 4);
  expect((1 - noneBound(10)) ** 10).toBeCloseTo(0.05, 12);
});
