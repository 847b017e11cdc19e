import { describe, expect, it } from 'vitest';
import { readDataRate, readExactTime, readPeriod, readQuantity, type Dimension } from '../../src/scenario/quantity.js';

function value(dimension: Dimension, written: string | number): unknown {
  const reading = readQuantity(dimension, written);
  return 'value' in reading ? reading.value : reading.fault.code;
}

function hint(dimension: Dimension, written: string | number): string {
  const reading = readQuantity(dimension, written);
  return 'fault' in reading ? reading.fault.hint : '';
}

describe('quantities', () => {
  it.each<[Dimension, string | number, unknown]>([
    ['time', '15 ns', 15_000],
    ['time', '13.75 ns', 13_750],
    ['time', '7.8 us', 7_800_000],
    ['time', '0.1 ns', 100],
    ['time', '2 s', 2e12],
    ['time', '1.0715 ns', 1072],
    ['time', '0 ns', 0],
    ['time', '0.4 ps', 'rounds_to_zero'],
    ['time', '9999999 s', 'out_of_range'],
    ['size', '32 KiB', 32_768],
    ['size', '32 kB', 32_000],
    ['size', '1.5 MiB', 1_572_864],
    ['size', '0.3 B', 'out_of_range'],
    ['width', '64 bit', 8],
    ['rate', '4.2 GB/s', 4.2e9],
    ['rate', '100 Mbit/s', 12.5e6],
    ['rate', '100MB/s', 100e6],
    ['cycles', '3 cycles', 3],
    ['cycles', '1 cycle', 1],
    ['beats', '1e1 beats', 10],
    ['share', '30 %', 0.3],
    ['share', 0.3, 0.3],
    ['transfers', '1600 MT/s', 1.6e9],
    ['density', '4 Gbit', 4],
    ['time', 533, 'missing_unit'],
    ['time', '533', 'missing_unit'],
    ['time', '15 ns extra', 'wrong_unit'],
    ['time', '15 parsecs', 'wrong_unit'],
    ['time', 'soon', 'wrong_type'],
    ['frequency', '15 ns', 'wrong_unit'],
    ['size', '1,000 B', 'wrong_unit'],
  ])('%s %s is %s', (dimension, written, expected) => {
    expect(value(dimension, written)).toBe(expected);
  });

  it('a decimal is rounded once: 15 ns is not 15.000000000000002', () => {
    for (let tenths = 1; tenths < 3000; tenths++) {
      expect(value('rate', `${tenths / 10} GB/s`)).toBe(tenths * 1e8);
    }
  });

  it('what is near a unit is named, but bits and bytes are never exchanged', () => {
    expect(hint('frequency', '5 Mhz')).toContain(`'MHz'`);
    expect(hint('size', '5 KB')).toBe(`write 'kB' for 1000 bytes or 'KiB' for 1024`);
    for (const unit of ['Mb/s', 'Mbps', 'Gb/s', 'kb/s']) expect(hint('rate', `5 ${unit}`)).not.toMatch(/[kMG]B\/s/);
    expect(hint('rate', '5 Mb/s')).toContain(`'Mbit/s'`);
  });
});

describe('clocks', () => {
  it.each([
    ['200 MHz', 5000, 1],
    ['533 MHz', 1_000_000, 533],
    ['1.2 GHz', 2500, 3],
    ['800/3 MHz', 3750, 1],
    ['0.5 Hz', 2e12, 1],
  ])('%s has the exact period %d/%d ps', (written, numerator, denominator) => {
    expect(readPeriod(written)).toEqual({ value: { numerator, denominator } });
  });

  it('a period, and a transfer rate, are exact too', () => {
    expect(readExactTime('937.5 ps')).toEqual({ value: { numerator: 1875, denominator: 2 } });
    expect(readDataRate('3200/3 MT/s')).toEqual({ value: { numerator: 1875, denominator: 1 } });
  });

  it.each(['0 MHz', '-5 MHz', '2 THz', '5000 GHz', '200', '1/0 MHz', '266.666667 MHz', '266.666666666667 MHz'])(
    '%s is refused',
    (written) => {
      expect(readPeriod(written)).toHaveProperty('fault');
    },
  );
});
