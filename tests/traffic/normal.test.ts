import { expect, it } from 'vitest';
import { normalQuantile } from '../../src/traffic/normal.js';
import { normalCdf } from './statistics.js';

it('normalQuantile gives the quantiles that 40-digit arithmetic finds, to 1e-15 of their size', () => {
  // solved from the normal distribution function with mpmath at 40 digits
  const known: [number, number][] = [
    [0.6, 0.2533471031357997],
    [0.925, 1.4395314709384561],
    [0.9251, 1.440238267527964],
    [0.975, 1.9599639845400538],
    [0.999, 3.090232306167813],
    [1e-10, -6.361340902404057],
    [1e-20, -9.262340089798407],
  ];
  for (const [p, x] of known) expect(Math.abs(normalQuantile(p) / x - 1)).toBeLessThan(1e-15);
});

it('normalQuantile gives the published percentage points, to their six decimals', () => {
  // the usual one-sided points, as in Abramowitz and Stegun, Handbook of Mathematical Functions, chapter 26
  const points: [number, number][] = [
    [0.9, 1.281552],
    [0.95, 1.644854],
    [0.975, 1.959964],
    [0.99, 2.326348],
    [0.995, 2.575829],
    [0.999, 3.090232],
  ];
  for (const [p, x] of points) {
    expect(Math.abs(normalQuantile(p) - x)).toBeLessThan(5.0001e-7);
    expect(Math.abs(normalQuantile(1 - p) + x)).toBeLessThan(5.0001e-7);
  }
});

it('normalQuantile finds x from the published P(x) of 15 decimals', () => {
  // Abramowitz and Stegun, table 26.1; half a unit of the last decimal of P(3) moves x by 1.2e-13
  const table: [number, number][] = [
    [1, 0.841344746068543],
    [2, 0.977249868051821],
    [3, 0.99865010196837],
  ];
  for (const [x, p] of table) expect(Math.abs(normalQuantile(p) - x)).toBeLessThan(2e-13);
});

it('normalQuantile undoes the distribution function across all its branches', () => {
  for (let p = 0.0005; p < 1; p += 0.0005) expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 9);
});

it('normalQuantile is 0 in the middle and infinite at the ends', () => {
  expect(normalQuantile(0.5)).toBe(0);
  expect(normalQuantile(0)).toBe(-Infinity);
  expect(normalQuantile(1)).toBe(Infinity);
});
