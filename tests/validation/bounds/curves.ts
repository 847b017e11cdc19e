import { largest } from './bounded.js';

/** Beats of a flow as network calculus sees them: when each came, or went, in cycles, in order. */
export type Flow = readonly number[];

/** A flow's arrival curve σ + ρt: beats at once, and beats a cycle. */
export interface Curve {
  readonly sigma: number;
  readonly rho: number;
}

/** The most that σ + ρt lets through: σ beats at `from`, then one whenever there is a token for it. */
export function greedyFlow({ sigma, rho }: Curve, from: number, beats: number): number[] {
  return Array.from({ length: beats }, (_, n) => from + (n < sigma ? 0 : Math.ceil((n - sigma + 1) / rho)));
}

/** A flow within σ + ρt that saves up and lets go at random, in whole cycles. */
export function randomFlow({ sigma, rho }: Curve, until: number, random: () => number): number[] {
  const beats: number[] = [];
  let tokens = sigma;
  for (let at = 0; at < until;) {
    const sent = Math.floor(random() * (Math.floor(tokens) + 1));
    for (let n = 0; n < sent; n++) beats.push(at);
    const pause = 1 + Math.floor((random() * sigma) / rho / 2);
    tokens = Math.min(sigma, tokens - sent + pause * rho);
    at += pause;
  }
  return beats;
}

/** The least σ of a curve with this ρ that a flow keeps to. */
export function burstiness(flow: Flow, rho: number): number {
  let least = Infinity;
  return largest(
    flow.map((at, n) => {
      least = Math.min(least, n - rho * at);
      return n + 1 - rho * at - least;
    }),
  );
}

/** The most beats that had come and not gone; what goes at the instant at which others come is gone. */
export function backlog(came: Flow, gone: Flow): number {
  const left = gone.toSorted((a, b) => a - b);
  let out = 0;
  return largest(
    came.map((at, n) => {
      while (out < left.length && left[out]! <= at) out++;
      return n + 1 - out;
    }),
  );
}
