/** Closed forms of hit ratios under independent references, by which the reference table can be worked out again. */

/** Probabilities of lines whose popularity falls with the power `exponent` of their rank. */
export function zipf(lines: number, exponent: number): number[] {
  const weights = Array.from({ length: lines }, (_, i) => (i + 1) ** -exponent);
  const sum = weights.reduce((a, b) => a + b);
  return weights.map((weight) => weight / sum);
}

/** FIFO and random replacement, exact: 1 − (C + 1) e_{C+1} / e_C, e the elementary symmetric functions (King 1971). */
export function fifoHitRatio(p: readonly number[], capacity: number): number {
  // logarithms: for thousands of lines the functions leave the range of a double
  const logs = new Float64Array(capacity + 2).fill(-Infinity);
  logs[0] = 0;
  for (const probability of p) {
    const log = Math.log(probability);
    for (let k = capacity + 1; k >= 1; k--) logs[k] = logOfSum(logs[k]!, logs[k - 1]! + log);
  }
  return 1 - (capacity + 1) * Math.exp(logs[capacity + 1]! - logs[capacity]!);
}

/** log(e^a + e^b). */
function logOfSum(a: number, b: number): number {
  const [large, small] = a > b ? [a, b] : [b, a];
  return small === -Infinity ? large : large + Math.log1p(Math.exp(small - large));
}

/** LRU, approximately: Σ p (1 − e^(−pT)), T so that Σ (1 − e^(−pT)) is the capacity (Che, Tung, Wang 2002). */
export function cheHitRatio(p: readonly number[], capacity: number): number {
  const held = (time: number): number => p.reduce((sum, probability) => sum - Math.expm1(-probability * time), 0);
  const time = rootOf((t) => held(t) - capacity);
  return p.reduce((sum, probability) => sum - probability * Math.expm1(-probability * time), 0);
}

/** FIFO and random, approximately, in the same way: a line is held for the share pT / (1 + pT) of the time (Fricker 2012). */
export function cheLikeHitRatio(p: readonly number[], capacity: number): number {
  const share = (probability: number, time: number): number => (probability * time) / (1 + probability * time);
  const time = rootOf((t) => p.reduce((sum, probability) => sum + share(probability, t), 0) - capacity);
  return p.reduce((sum, probability) => sum + probability * share(probability, time), 0);
}

/** Where a rising function passes zero, above 0. */
function rootOf(f: (x: number) => number): number {
  let [low, high] = [0, 1];
  while (f(high) < 0) high *= 2;
  for (let i = 0; i < 100; i++) {
    const middle = (low + high) / 2;
    if (f(middle) < 0) low = middle;
    else high = middle;
  }
  return high;
}
