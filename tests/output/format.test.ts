import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  decimal,
  fixed,
  formatCell,
  grouped,
  megabytesPerSecond,
  nanoseconds,
  percent,
  readableNs,
  readableRate,
  readableSpan,
  whole,
} from '../../src/output/format.js';

const PLAIN_NUMBER = /^-?\d+(\.\d+)?$/;

describe('format', () => {
  it('gives nanoseconds exact to the picosecond, without trailing zeros', () => {
    const cases: [number, string][] = [
      [0, '0'],
      [1, '0.001'],
      [1250, '1.25'],
      [100_000, '100'],
      [-1250, '-1.25'],
      [1234.4, '1.234'],
      [9_007_199_254_740_991, '9007199254740.991'],
    ];
    for (const [ps, text] of cases) expect(nanoseconds(ps)).toBe(text);
  });

  it('loses no whole picosecond', () => {
    fc.assert(
      fc.property(fc.maxSafeNat(), (ps) => {
        const [ns, rest = ''] = nanoseconds(ps).split('.');
        expect(BigInt(ns!) * 1000n + BigInt(rest.padEnd(3, '0'))).toBe(BigInt(ps));
      }),
      { seed: 41 },
    );
  });

  it('never writes an exponent, NaN, Infinity or -0', () => {
    fc.assert(
      fc.property(fc.double(), fc.constantFrom('count', 'number', 'share', 'time', 'rate'), (value, quantity) => {
        const text = formatCell(quantity, value);
        expect(text).toMatch(Number.isFinite(value) ? PLAIN_NUMBER : /^$/);
        expect(text).not.toMatch(/^-0(\.0*)?$/);
      }),
      { seed: 42, numRuns: 2000 },
    );
  });

  it('gives rates to the byte, shares to the millionth and counts whole', () => {
    expect(megabytesPerSecond(4_200_000_001)).toBe('4200.000001');
    expect(formatCell('share', 1 / 3)).toBe('0.333333');
    expect(formatCell('number', 2.5)).toBe('2.5');
    expect(formatCell('count', 1e21)).toBe('1000000000000000000000');
    expect(whole(-0)).toBe('0');
    expect(decimal(-1e-9, 6)).toBe('0');
    expect(fixed(-0.04, 1)).toBe('0.0');
  });

  it('leaves an empty cell empty and a text as it is', () => {
    expect([formatCell('time', null), formatCell('time', 'deterministic')]).toEqual(['', 'deterministic']);
  });

  it('writes for people in groups, with units', () => {
    expect(grouped(1_234_567)).toBe('1,234,567');
    expect([readableNs(123_456), readableNs(12_345_678)]).toEqual(['123.5', '12,346']);
    expect([readableRate(12_340_000), readableRate(4_200_000_000)]).toEqual(['12.3', '4,200']);
    expect([percent(0.6214), percent(1)]).toEqual(['62.1 %', '100.0 %']);
    expect([readableSpan(0), readableSpan(1500), readableSpan(2e9), readableSpan(1.5e12)]).toEqual([
      '0 ps',
      '1.5 ns',
      '2 ms',
      '1.5 s',
    ]);
  });
});
