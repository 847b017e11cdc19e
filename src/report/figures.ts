/** Numbers of the tables as a reader sees them; the tables themselves keep every digit. */
import { grouped, percent, readableNs } from '../output/format.js';

const NONE = '–';

/** ns as `1,351.7 ns`, `2.41 us` from 100,000 on. */
export function nsText(ns: number | null): string {
  return ns === null ? NONE : `${readableNs(ns * 1000)} ns`;
}

/** Three significant digits and a unit: `2.41 µs`, for axes and labels. */
export function shortTime(ns: number): string {
  if (ns === 0) return '0';
  const units = [
    [1e9, 's'],
    [1e6, 'ms'],
    [1e3, 'µs'],
    [1, 'ns'],
  ] as const;
  const [size, unit] = units.find(([size]) => Math.abs(ns) >= size) ?? [1, 'ns'];
  return `${Number((ns / size).toPrecision(3))} ${unit}`;
}

export function rateText(mbPerS: number | null): string {
  return mbPerS === null ? NONE : `${shortNumber(mbPerS)} MB/s`;
}

export const shareText = (share: number | null): string => (share === null ? NONE : percent(share));

/** At least three significant digits, whole from 100 on. */
export function shortNumber(value: number): string {
  return Math.abs(value) >= 100 ? grouped(value) : String(Number(value.toPrecision(3)));
}

/** A number in the unit that its table names; a share in per cent. */
export function inUnit(value: number | null, unit: string): string {
  if (value === null) return NONE;
  if (unit === 'ns') return nsText(value);
  if (unit === 'MB/s') return rateText(value);
  return unit === 'share' ? shareText(value) : `${shortNumber(value)} ${unit}`.trim();
}

/** `a`, `a and b`, `a, b and c`. */
export function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}

export const counted = (count: number, one: string, many = `${one}s`): string =>
  `${grouped(count)} ${count === 1 ? one : many}`;

/** `camera write burst p99_ns` as `camera write burst p99` and `ns`. */
export function metricWords(metric: string): { name: string; unit: string } {
  for (const [suffix, unit, kept] of [
    ['_ns', 'ns', ''],
    ['_us', 'us', ''],
    [' bandwidth_mb_per_s', 'MB/s', ' bandwidth'],
    [' utilisation', 'share', ' utilisation'],
  ] as const) {
    if (metric.endsWith(suffix))
      return { name: metric.slice(0, -suffix.length).replace(/p(\d+)_(\d+)$/u, 'p$1.$2') + kept, unit };
  }
  return { name: metric, unit: '' };
}
