import { asNumbers, exactValue, reduced, type ExactFraction, type Fraction } from './exact.js';
import { Fault, shown } from './fault.js';
import { nearest } from './nearest.js';

/** What a quantity measures. The canonical units are those of the normalised scenario. */
export type Dimension =
  'time' | 'frequency' | 'size' | 'width' | 'rate' | 'transfers' | 'density' | 'cycles' | 'clocks' | 'beats' | 'share';

/** `number × 10^exponent × factor`, where the factor is a power of two: the result is rounded once. */
interface Unit {
  readonly exponent: number;
  readonly factor: number;
}

interface DimensionInfo {
  /** In words, as `a time`. */
  readonly noun: string;
  /** Name of the canonical unit. */
  readonly canonical: string;
  /** A quantity of this kind, as it is written. */
  readonly example: string;
  /** The unit that is proposed for a bare number. */
  readonly usual: string;
  /** Must the canonical value be whole? */
  readonly whole: boolean;
  readonly units: ReadonlyMap<string, Unit>;
}

const units = (list: Record<string, [exponent: number, factor?: number]>): ReadonlyMap<string, Unit> =>
  new Map(Object.entries(list).map(([name, [exponent, factor]]) => [name, { exponent, factor: factor ?? 1 }]));

const KI = 1024;

/** kB is 1000 bytes and KiB 1024; a bit is an eighth of a byte. Density is in 2^30 bits, as memory makers count. */
export const DIMENSIONS: Readonly<Record<Dimension, DimensionInfo>> = {
  time: {
    noun: 'a time',
    canonical: 'ps',
    example: '15 ns',
    usual: 'ns',
    whole: true,
    units: units({ ps: [0], ns: [3], us: [6], µs: [6], μs: [6], ms: [9], s: [12] }),
  },
  frequency: {
    noun: 'a frequency',
    canonical: 'Hz',
    example: '200 MHz',
    usual: 'MHz',
    whole: false,
    units: units({ Hz: [0], kHz: [3], MHz: [6], GHz: [9] }),
  },
  size: {
    noun: 'a size',
    canonical: 'B',
    example: '32 KiB',
    usual: 'B',
    whole: true,
    units: units({
      B: [0],
      kB: [3],
      MB: [6],
      GB: [9],
      KiB: [0, KI],
      MiB: [0, KI ** 2],
      GiB: [0, KI ** 3],
      bit: [0, 1 / 8],
    }),
  },
  width: {
    noun: 'a width',
    canonical: 'B',
    example: '64 bit',
    usual: 'bit',
    whole: false,
    units: units({ bit: [0, 1 / 8], B: [0] }),
  },
  rate: {
    noun: 'a rate',
    canonical: 'B/s',
    example: '4.2 GB/s',
    usual: 'MB/s',
    whole: false,
    units: units({
      'B/s': [0],
      'kB/s': [3],
      'MB/s': [6],
      'GB/s': [9],
      'KiB/s': [0, KI],
      'MiB/s': [0, KI ** 2],
      'GiB/s': [0, KI ** 3],
      'bit/s': [0, 1 / 8],
      'kbit/s': [3, 1 / 8],
      'Mbit/s': [6, 1 / 8],
      'Gbit/s': [9, 1 / 8],
    }),
  },
  transfers: {
    noun: 'a transfer rate',
    canonical: 'T/s',
    example: '1600 MT/s',
    usual: 'MT/s',
    whole: false,
    units: units({ 'MT/s': [6], 'GT/s': [9] }),
  },
  density: {
    noun: 'a density',
    canonical: 'Gbit',
    example: '4 Gbit',
    usual: 'Gbit',
    whole: false,
    units: units({ Mbit: [0, 1 / KI], Gbit: [0] }),
  },
  cycles: {
    noun: 'a number of cycles',
    canonical: 'cycles',
    example: '3 cycles',
    usual: 'cycles',
    whole: true,
    units: units({ cycles: [0], cycle: [0] }),
  },
  clocks: {
    noun: 'a number of DRAM clocks',
    canonical: 'clocks',
    example: '4 clocks',
    usual: 'clocks',
    whole: true,
    units: units({ clocks: [0], clock: [0] }),
  },
  beats: {
    noun: 'a number of beats',
    canonical: 'beats',
    example: '16 beats',
    usual: 'beats',
    whole: true,
    units: units({ beats: [0], beat: [0] }),
  },
  share: {
    noun: 'a share',
    canonical: '0 to 1',
    example: '30 %',
    usual: '%',
    whole: false,
    units: units({ '%': [-2] }),
  },
};

const NUMBER = /^([+-]?\d+(?:\.\d+)?)(?:[eE]([+-]?\d{1,3}))?\s*(\S.*)?$/u;

/** The parts of a written quantity: digits, decimal exponent and unit. */
export interface Written {
  readonly digits: string;
  readonly exponent: number;
  readonly unit: string;
}

/** Cuts `1.25e3 ns` into its parts; undefined where it is not a number with something behind it. */
export function cutQuantity(text: string): Written | undefined {
  const match = NUMBER.exec(text.trim());
  if (match === null) return undefined;
  return { digits: match[1]!, exponent: Number(match[2] ?? '0'), unit: match[3] ?? '' };
}

/**
 * The value in the dimension's canonical unit, or what is wrong with it. Times are rounded to whole picoseconds, and one
 * that is not zero must not become zero; a share may also be a bare number from 0 to 1.
 */
export function parseQuantity(value: unknown, dimension: Dimension, example?: string): number | Fault {
  const info = DIMENSIONS[dimension];
  const hint = `write e.g. '${example ?? info.example}'`;
  if (dimension === 'share' && isBareNumber(value)) return Number(value);
  if (typeof value === 'number') return bare(value, info);
  if (typeof value !== 'string') return new Fault('wrong_type', `must be ${info.noun}, got ${shown(value)}`, hint);
  const written = cutQuantity(value);
  if (written === undefined) {
    return new Fault('wrong_type', `must be ${info.noun}, got ${shown(value)}`, hint);
  }
  if (written.unit === '') return bare(Number(value), info);
  const unit = info.units.get(written.unit);
  if (unit === undefined) return wrongUnit(written.unit, value, info, hint);
  const result = scaled(written, unit);
  if (!Number.isFinite(result)) return new Fault('out_of_range', `is too large, got ${shown(value)}`, hint);
  if (dimension === 'time') return roundedTime(result, value, hint);
  if (info.whole && !Number.isSafeInteger(result)) return notWhole(value, dimension, hint);
  return result;
}

/** The decimal exponent goes into the text, so that the digits are rounded once. */
function scaled({ digits, exponent }: Written, unit: Unit): number {
  return Number(`${digits}e${exponent + unit.exponent}`) * unit.factor;
}

function isBareNumber(value: unknown): boolean {
  return typeof value === 'number' || (typeof value === 'string' && cutQuantity(value)?.unit === '');
}

function roundedTime(ps: number, value: string, hint: string): number | Fault {
  const rounded = Math.round(ps);
  if (rounded === 0 && ps !== 0) {
    return new Fault('rounds_to_zero', `rounds to zero whole picoseconds, got ${shown(value)}`, `write '1 ps' or more`);
  }
  return Number.isSafeInteger(rounded) ? rounded : notWhole(value, 'time', hint);
}

function bare(value: number, info: DimensionInfo): Fault {
  return new Fault('missing_unit', `${value} has no unit`, `write e.g. '${value} ${info.usual}'`);
}

function notWhole(value: string, dimension: Dimension, hint: string): Fault {
  const of = { time: 'picoseconds', size: 'bytes', width: 'bytes' }[dimension as string] ?? dimension;
  return new Fault('out_of_range', `must be a whole number of ${of} below 2^53, got ${shown(value)}`, hint);
}

function wrongUnit(unit: string, value: string, info: DimensionInfo, hint: string): Fault {
  const known = [...info.units.keys()];
  const message = `must be ${info.noun}, got ${shown(value)}`;
  if (/^[kKMG]?T\/s$/u.test(unit)) {
    return new Fault('wrong_unit', message, `transfers are not a unit here; ${hint}`);
  }
  const bits = /^([kKMGT]?i?)b(ps|\/s)?$/u.exec(unit);
  if (bits !== null) {
    // a small b may mean bits or bytes, a factor of eight: never guess
    const rate = bits[2] === undefined ? '' : '/s';
    const prefix = bits[1] === 'K' ? 'k' : bits[1]!;
    return new Fault('wrong_unit', message, `write '${prefix}bit${rate}' for bits or 'B' in place of 'b' for bytes`);
  }
  if (/^KB(\/s)?$/u.test(unit) && known.includes(unit.replace('K', 'k'))) {
    return new Fault('wrong_unit', message, `write 'kB' for 1000 bytes or 'KiB' for 1024`);
  }
  const guess = known.find((name) => name.toLowerCase() === unit.toLowerCase()) ?? nearest(unit, known);
  return new Fault('wrong_unit', message, guess === undefined ? hint : `did you mean '${guess}'? ${hint}`);
}

export type { Fault } from './fault.js';

/** What reading a value gave. */
export type Reading<T> = { value: T } | { fault: Fault };

export function readQuantity(dimension: Dimension, input: unknown): Reading<number> {
  const result = parseQuantity(input, dimension);
  return result instanceof Fault ? { fault: result } : { value: result };
}

/** The exact period, in ps, of a written frequency; `800/3 MHz` is one that decimals cannot say. */
export function readPeriod(input: unknown): Reading<Fraction> {
  return exactPeriod(input, 'frequency', 1n);
}

/** The exact period, in ps, of the DRAM clock of a written transfer rate: two transfers a clock. */
export function readDataRate(input: unknown): Reading<Fraction> {
  return exactPeriod(input, 'transfers', 2n);
}

/** The exact time, in ps, that is written: `937.5 ps` is 1875/2. */
export function readExactTime(input: unknown): Reading<Fraction> {
  const written = exactParts(input, 'time');
  return written instanceof Fault ? { fault: written } : exactly(written, input);
}

function exactPeriod(input: unknown, dimension: 'frequency' | 'transfers', perPeriod: bigint): Reading<Fraction> {
  const written = exactParts(input, dimension);
  if (written instanceof Fault) return { fault: written };
  return exactly(reduced(perPeriod * written.denominator * 10n ** 12n, written.numerator), input);
}

/** The exact value in the canonical unit, above zero. */
function exactParts(input: unknown, dimension: Dimension): ExactFraction | Fault {
  const info = DIMENSIONS[dimension];
  const [text, divisor] = typeof input === 'string' ? splitDivisor(input) : [input, '1'];
  const checked = parseQuantity(text, dimension);
  if (checked instanceof Fault && checked.code !== 'rounds_to_zero') return checked;
  const { digits, exponent, unit } = cutQuantity(text as string)!;
  if (!(Number(digits) > 0) || Number(divisor) === 0) {
    return new Fault('out_of_range', `must be above zero, got ${shown(input)}`, `write e.g. '${info.example}'`);
  }
  const value = exactValue(digits, exponent + info.units.get(unit)!.exponent);
  return reduced(value.numerator, value.denominator * BigInt(divisor));
}

/** `800/3 MHz` as `800 MHz` and 3. */
function splitDivisor(input: string): [text: string, divisor: string] {
  const match = /^([^/\s]+)\/(\d+)(\s.*)$/u.exec(input.trim());
  return match === null ? [input, '1'] : [match[1]! + match[3]!, match[2]!];
}

function exactly(fraction: ExactFraction, input: unknown): Reading<Fraction> {
  if (fraction.numerator < fraction.denominator) {
    return { fault: new Fault('out_of_range', `must have a period of 1 ps or more, got ${shown(input)}`) };
  }
  const value = asNumbers(fraction);
  if (value !== undefined) return { value };
  const message = `has too many digits to be exact, got ${shown(input)}`;
  return { fault: new Fault('out_of_range', message, `write fewer digits, or a fraction such as '800/3 MHz'`) };
}
