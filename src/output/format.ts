/** The only place where numbers become text: never an exponent, never NaN or Infinity (those are empty), never -0. */
import type { Cell, Quantity } from '../measure/tables/columns.js';

const PRINT: Record<Quantity, (value: number) => string> = {
  time: nanoseconds,
  rate: megabytesPerSecond,
  count: whole,
  text: whole,
  share: (value) => decimal(value, PLACES),
  number: (value) => decimal(value, PLACES),
};

/** Decimals of shares, rates and means: one byte per second in MB/s, one in a million. */
const PLACES = 6;

/** A cell of a table, in the unit of its column. */
export function formatCell(quantity: Quantity, cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'string') return cell;
  return PRINT[quantity](cell);
}

/** Picoseconds in ns, exact to the picosecond: at most three decimals, no trailing zeros. */
export function nanoseconds(ps: number): string {
  if (!Number.isFinite(ps)) return '';
  const rounded = Math.round(Math.abs(ps));
  if (!Number.isSafeInteger(rounded)) return whole(ps / 1000);
  const ns = Math.floor(rounded / 1000);
  const rest = String(rounded - ns * 1000).padStart(3, '0');
  const text = trimZeros(`${whole(ns)}.${rest}`);
  return ps < 0 && rounded > 0 ? `-${text}` : text;
}

/** Bytes per second in 10^6 bytes per second, to the byte. */
export function megabytesPerSecond(bytesPerS: number): string {
  return decimal(bytesPerS / 1e6, PLACES);
}

/** A whole number; what is not whole is rounded. */
export function whole(value: number): string {
  if (!Number.isFinite(value)) return '';
  const rounded = Math.round(value);
  return Math.abs(rounded) < 1e21 ? String(rounded === 0 ? 0 : rounded) : BigInt(rounded).toString();
}

/** At most so many decimals, no trailing zeros. */
export function decimal(value: number, places: number): string {
  return trimZeros(fixed(value, places));
}

/** Exactly so many decimals. */
export function fixed(value: number, places: number): string {
  if (!Number.isFinite(value)) return '';
  if (Math.abs(value) >= 1e21) return whole(value);
  const text = value.toFixed(places);
  return Number(text) === 0 ? (0).toFixed(places) : text;
}

function trimZeros(text: string): string {
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

/** For people: a whole number in groups of three, `12,345`. */
export function grouped(value: number): string {
  return group(whole(value));
}

/** For people: ns with one decimal below 10,000 ns and none above. */
export function readableNs(ps: number): string {
  return group(fixed(ps / 1000, Math.abs(ps) < 1e7 ? 1 : 0));
}

/** For people: MB/s with one decimal below 100 and none above. */
export function readableRate(bytesPerS: number): string {
  return group(fixed(bytesPerS / 1e6, Math.abs(bytesPerS) < 1e8 ? 1 : 0));
}

/** For people: a share as `62.1 %`. */
export function percent(share: number): string {
  return Number.isFinite(share) ? `${fixed(share * 100, 1)} %` : '';
}

const SPANS: readonly (readonly [number, string])[] = [
  [1e12, 's'],
  [1e9, 'ms'],
  [1e6, 'us'],
  [1e3, 'ns'],
];

/** For people: a span of simulated time in the largest unit that gives at least 1, to three decimals. */
export function readableSpan(ps: number): string {
  if (!Number.isFinite(ps)) return '';
  for (const [size, unit] of SPANS) if (Math.abs(ps) >= size) return `${group(decimal(ps / size, 3))} ${unit}`;
  return `${whole(ps)} ps`;
}

function group(text: string): string {
  const point = text.indexOf('.');
  const before = point < 0 ? text : text.slice(0, point);
  return before.replace(/\B(?=(\d{3})+$)/g, ',') + text.slice(before.length);
}
