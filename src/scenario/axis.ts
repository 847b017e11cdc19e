import { UsageError } from '../errors.js';
import { cutQuantity, type Dimension, DIMENSIONS, parseQuantity } from './quantity.js';

/** The values that a key takes in a sweep. */
export type Axis = ListAxis | RangeAxis;

export interface ListAxis {
  readonly kind: 'list';
  readonly key: string;
  /** As they would be written in a scenario file. */
  readonly values: readonly string[];
}

/** From one number to another, both in `unit`; what lies between is whole where both ends are. */
export interface RangeAxis {
  readonly kind: 'range';
  readonly key: string;
  readonly from: number;
  readonly to: number;
  /** Empty for a plain number. */
  readonly unit: string;
  /** Equal steps or equal factors; `points` of them, or so large. */
  readonly spacing: 'steps' | 'factors';
  readonly step: number | null;
}

/** Points of a range that names no step. */
const POINTS = 5;
const MOST_POINTS = 10_000;

/**
 * Reads `KEY=VALUES`: a list `a, b, c`, or a range `64 KiB..1 MiB` (five points, evenly spaced), `… by 64 KiB` (steps) or
 * `… times 2` (factors).
 *
 * @throws UsageError with what to write instead
 */
export function parseAxis(text: string): Axis {
  const at = text.indexOf('=');
  const [key, values] = at === -1 ? ['', ''] : [text.slice(0, at).trim(), text.slice(at + 1).trim()];
  if (key === '' || values === '') throw slip(text);
  const range = /^(.+?)\s*\.\.\s*(.+?)(?:\s+(by|times)\s+(.+))?$/u.exec(values);
  if (range === null) return { kind: 'list', key, values: cutList(values) };
  const [, from, to, word, step] = range;
  const first = cutQuantity(from!);
  if (first === undefined) throw slip(text);
  const { unit } = first;
  const inUnit = (written: string): number => numberIn(written, unit, text);
  const axis: RangeAxis = {
    kind: 'range',
    key,
    from: inUnit(from!),
    to: inUnit(to!),
    unit,
    spacing: word === 'times' ? 'factors' : 'steps',
    step: step === undefined ? null : word === 'times' ? Number(step) : inUnit(step),
  };
  const wrongStep = axis.step !== null && !(axis.step > (axis.spacing === 'factors' ? 1 : 0));
  if (!(axis.to > axis.from) || wrongStep || (axis.spacing === 'factors' && axis.from <= 0)) {
    throw new UsageError(
      `'${text}' is no range: it goes up, in steps above 0 or by factors above 1 from a number above 0`,
    );
  }
  return axis;
}

const slip = (text: string): UsageError =>
  new UsageError(
    `'${text}' does not say which values a key takes; write e.g. 'buffers.lines.size=64 KiB,1 MiB', ` +
      `'masters.camera.outstanding=2..16 by 2' or 'buffers.lines.size=64 KiB..4 MiB times 2'`,
  );

/** Cut at commas that stand in no brackets and no quotes. */
function cutList(text: string): string[] {
  const parts = text.match(/(?:[^,{["']|\{[^}]*\}|\[[^\]]*\]|"[^"]*"|'[^']*')+/gu) ?? [];
  return parts.map((part) => part.trim()).filter((part) => part !== '');
}

/** A written number in another unit of the same kind. */
function numberIn(written: string, unit: string, text: string): number {
  const parts = cutQuantity(written);
  if (parts === undefined) throw slip(text);
  const own = Number(`${parts.digits}e${parts.exponent}`);
  if (parts.unit === unit) return own;
  // such as KiB/3
  if ([parts.unit, unit].some((one) => one !== '' && dimensionOf([one]) === null)) throw slip(text);
  const sizes = dimensionOf([parts.unit, unit]);
  if (sizes === null) throw new UsageError(`'${text}' mixes units; write both ends in units of one kind`);
  const [from, into] = [parts.unit, unit].map((name) => parseQuantity(`1 ${name}`, sizes) as number);
  return (own * from!) / into!;
}

/** The first kind of quantity that has all these units; null where there is none. */
function dimensionOf(units: readonly string[]): Dimension | null {
  const names = Object.keys(DIMENSIONS) as Dimension[];
  return names.find((name) => units.every((unit) => DIMENSIONS[name].units.has(unit))) ?? null;
}

/** The values of an axis, one after the other. */
export function valuesOf(axis: Axis): string[] {
  if (axis.kind === 'list') return [...axis.values];
  return numbersOf(axis).map((number) => written(axis, number));
}

/** The same as numbers in the unit of the range; `points` of them where no step is named. */
export function numbersOf(axis: RangeAxis, points = POINTS): number[] {
  const { from, to, step, spacing } = axis;
  if (step === null) {
    const numbers = Array.from({ length: points }, (_, place) => at(axis, place / (points - 1)));
    return numbers.filter((number, place) => place === 0 || number > numbers[place - 1]!);
  }
  const room = spacing === 'steps' ? (to - from) / step : Math.log(to / from) / Math.log(step);
  const count = Math.floor(room + 1e-9) + 1;
  if (count > MOST_POINTS) throw new UsageError(`${axis.key} would take ${count} values; name a larger step`);
  return Array.from({ length: count }, (_, k) =>
    exactly(axis, spacing === 'steps' ? from + k * step : from * step ** k),
  );
}

/** The number that lies at a share, 0 to 1, of the range. */
export function at(axis: RangeAxis, share: number): number {
  const { from, to, spacing } = axis;
  return exactly(axis, spacing === 'steps' ? from + share * (to - from) : from * (to / from) ** share);
}

/** A number half-way between two; null where there is none. */
export function between(axis: RangeAxis, low: number, high: number): number | null {
  const middle = exactly(axis, axis.spacing === 'steps' ? (low + high) / 2 : Math.sqrt(low * high));
  return middle > low && middle < high ? middle : null;
}

/** Whole where both ends are; otherwise with as many digits as tell points apart. */
function exactly({ from, to }: RangeAxis, number: number): number {
  const whole = Number.isInteger(from) && Number.isInteger(to);
  return whole ? Math.round(number) : Number(number.toPrecision(9));
}

/** A number of a range as it stands in a scenario file. */
export const written = ({ unit }: RangeAxis, number: number): string =>
  unit === '' ? `${number}` : `${number} ${unit}`;

/** What a column of values is called behind the key, and the units of quantities in one of it. */
const COLUMN_UNITS: Readonly<Record<Dimension, { suffix: string; size: number }>> = {
  time: { suffix: 'ns', size: 1e3 },
  frequency: { suffix: 'mhz', size: 1e6 },
  size: { suffix: 'bytes', size: 1 },
  width: { suffix: 'bytes', size: 1 },
  rate: { suffix: 'mb_per_s', size: 1e6 },
  transfers: { suffix: 'mt_per_s', size: 1e6 },
  density: { suffix: 'gbit', size: 1 },
  cycles: { suffix: 'cycles', size: 1 },
  clocks: { suffix: 'clocks', size: 1 },
  beats: { suffix: 'beats', size: 1 },
  share: { suffix: 'share', size: 1 },
};

/** Values as cells of one column: numbers in one unit, which stands in the column's name, or texts as they are. */
export function columnOf(key: string, values: readonly string[]): { name: string; cells: (string | number)[] } {
  const parts = values.map(cutQuantity);
  if (parts.some((part) => part === undefined)) return { name: key, cells: [...values] };
  const units = parts.map((part) => part!.unit);
  if (units.every((unit) => unit === '')) return { name: key, cells: values.map(Number) };
  const dimension = dimensionOf(units);
  if (dimension === null) return { name: key, cells: [...values] };
  const { suffix, size } = COLUMN_UNITS[dimension];
  const cells = values.map((value) => {
    const number = parseQuantity(value, dimension);
    return typeof number === 'number' ? number / size : value;
  });
  return { name: `${key}_${suffix}`, cells };
}
