/** Student's t distribution: what an interval from few replications needs. */

/** Lanczos coefficients for g = 7, n = 9 (Godfrey's set, as in Press et al., Numerical Recipes, 3rd ed., 6.1). */
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

function logGamma(x: number): number {
  const shifted = x - 1;
  const t = shifted + 7.5;
  let series = LANCZOS[0]!;
  for (let i = 1; i < LANCZOS.length; i++) series += LANCZOS[i]! / (shifted + i);
  return 0.5 * Math.log(2 * Math.PI) + (shifted + 0.5) * Math.log(t) - t + Math.log(series);
}

/** Keeps Lentz's method from dividing by zero. */
const guard = (value: number): number => (Math.abs(value) < 1e-300 ? 1e-300 : value);

/** Continued fraction of the incomplete beta function by Lentz's method (Abramowitz and Stegun 26.5.8). */
function betaFraction(x: number, a: number, b: number): number {
  let c = 1;
  let d = 1 / guard(1 - ((a + b) * x) / (a + 1));
  let result = d;
  for (let m = 1; m <= 10_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / guard(1 + even * d);
    c = guard(1 + even / c);
    result *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / guard(1 + odd * d);
    c = guard(1 + odd / c);
    result *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) return result;
  }
  throw new RangeError(`incomplete beta function: no convergence at x ${x}, a ${a}, b ${b}`);
}

/** Regularised incomplete beta function for 0 ≤ x ≤ 1; `rest` is 1 − x, given apart because it may be tiny. */
function incompleteBeta(x: number, rest: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (rest <= 0) return 1;
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log(rest));
  return x < (a + 1) / (a + b + 2) ? (front * betaFraction(x, a, b)) / a : 1 - (front * betaFraction(rest, b, a)) / b;
}

/** P(T ≤ t) for Student's t with `df` degrees of freedom (above 0). */
export function studentCdf(t: number, df: number): number {
  const square = t * t;
  const tail = incompleteBeta(df / (df + square), square / (df + square), df / 2, 0.5) / 2;
  return t > 0 ? 1 - tail : tail;
}

/** The `p` quantile (0 < p < 1) of Student's t with `df` degrees of freedom, to about nine digits. */
export function studentQuantile(p: number, df: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`student quantile: p must lie between 0 and 1, got ${p}`);
  if (!(df > 0)) throw new RangeError(`student quantile: degrees of freedom must be above 0, got ${df}`);
  if (p < 0.5) return -studentQuantile(1 - p, df);
  let low = 0;
  let high = 1;
  while (studentCdf(high, df) < p) high *= 2;
  for (let i = 0; i < 200; i++) {
    const middle = (low + high) / 2;
    if (middle === low || middle === high) break;
    if (studentCdf(middle, df) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
