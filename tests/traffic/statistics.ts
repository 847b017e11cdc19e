/** Tests of samples against what they should follow. All seeds are fixed, so a run either always passes or always fails. */

/** Kolmogorov's limit at an error rate of 1e-4 per test: P(√n · D > 2.2253) = 1e-4 for large n. */
export const KOLMOGOROV_1E4 = 2.2253;

/** Standard deviations beyond which a normal value lies with probability 1e-4, both sides together. */
export const NORMAL_1E4 = 3.8906;

/** √n times the largest distance between the sample's distribution function and `cdf`, which is continuous. */
export function kolmogorov(sample: readonly number[], cdf: (x: number) => number): number {
  const sorted = Float64Array.from(sample).toSorted();
  const n = sorted.length;
  let distance = 0;
  for (const [index, value] of sorted.entries()) {
    const expected = cdf(value);
    distance = Math.max(distance, (index + 1) / n - expected, expected - index / n);
  }
  return distance * Math.sqrt(n);
}

/** Pearson's sum over cells, of counts against equal shares or against the given ones. */
export function chiSquare(counts: readonly number[], shares?: readonly number[]): number {
  const total = counts.reduce((sum, count) => sum + count, 0);
  return counts.reduce((sum, count, cell) => {
    const expected = total * (shares?.[cell] ?? 1 / counts.length);
    return sum + (count - expected) ** 2 / expected;
  }, 0);
}

/** What chi-square with `df` degrees of freedom passes with probability 1e-4 (Wilson and Hilferty 1931). */
export function chiSquareLimit(df: number): number {
  const part = 2 / (9 * df);
  return df * (1 - part + 3.719 * Math.sqrt(part)) ** 3;
}

export function correlation(pairs: readonly (readonly [number, number])[]): number {
  const n = pairs.length;
  const sum = (value: (pair: readonly [number, number]) => number): number =>
    pairs.reduce((total, pair) => total + value(pair), 0) / n;
  const meanX = sum(([x]) => x);
  const meanY = sum(([, y]) => y);
  const covariance = sum(([x, y]) => (x - meanX) * (y - meanY));
  return covariance / Math.sqrt(sum(([x]) => (x - meanX) ** 2) * sum(([, y]) => (y - meanY) ** 2));
}

/** Normal distribution function by Simpson's rule on its density, to about 1e-10: shares nothing with the quantile. */
export function normalCdf(x: number): number {
  const steps = 200;
  const width = x / steps;
  let sum = density(0) + density(x);
  for (let step = 1; step < steps; step++) sum += density(step * width) * (step % 2 === 0 ? 2 : 4);
  return 0.5 + (sum * width) / 3;
}

function density(t: number): number {
  return Math.exp((-t * t) / 2) / Math.sqrt(2 * Math.PI);
}
