import type { ReferenceRow } from '../reference-table.js';
import { type Asked, OneCache, type Place, type Shape } from './one-cache.js';
import { comparison, countHits, given, keyOf, oneSet, PLACES, type Planned, ROWS, ruleOf } from './rows.js';

/** Access patterns of which the hits can be counted: sweeps, conflicts, strides and Belady's anomaly. */

/** Lines 0, stride, 2 stride … in turn, and again. */
export function sweep(lines: number, passes: number, stride = 1): number[] {
  return Array.from({ length: lines * passes }, (_, k) => (k % lines) * stride);
}

interface Setup {
  readonly shape: Shape;
  readonly asked: Asked;
  readonly most?: number;
}

const inTurn = (lines: readonly number[]): Asked => ({ lines, bufferLines: Math.max(...lines) + 1 });

/** By kind of row: the cache and what is asked of it. */
const SETUPS: Readonly<Record<string, (row: ReferenceRow) => Setup>> = {
  set_conflict: (row) => ({
    shape: { sets: given(row, 'sets'), ways: given(row, 'ways'), replacement: ruleOf(row), lineBytes: 64 },
    asked: inTurn(sweep(given(row, 'lines'), given(row, 'passes'), given(row, 'line_stride'))),
  }),
  cyclic_sweep: (row) => ({
    shape: oneSet(given(row, 'capacity'), ruleOf(row)),
    asked: inTurn(sweep(given(row, 'lines'), given(row, 'passes'))),
  }),
  anomaly: (row) => ({
    shape: oneSet(given(row, 'capacity'), ruleOf(row)),
    asked: inTurn(row.parameter('params', 'trace')!.split(' ').map(Number)),
  }),
  stride: (row) => {
    const [lineBytes, strideBytes] = [given(row, 'line_bytes'), given(row, 'stride_bytes')];
    const bufferLines = 64;
    const bytes = Math.min(strideBytes, lineBytes);
    return {
      shape: { sets: 1, ways: 16, replacement: ruleOf(row), lineBytes },
      asked: { pattern: { pattern: 'strided', strideBytes }, bytes, bufferLines },
      most: (bufferLines * lineBytes) / strideBytes,
    };
  },
};

/** The rows of the table that are exact counts, or exact shares of few accesses. */
export const countRows: readonly Planned[] = ROWS.filter(
  (row) => SETUPS[row.text('kind')] !== undefined && row.text('metric') !== 'hit_ratio_long_run',
).map((row) => ({
  key: keyOf(row),
  run: () =>
    PLACES.map((place) => {
      const hits = hitsOf(row, place);
      const share = row.text('metric') === 'hit_ratio';
      return comparison(
        row,
        place,
        share ? 'share' : 'accesses',
        share ? countHits(hits) / hits.length : countHits(hits),
      );
    }),
}));

function hitsOf(row: ReferenceRow, place: Place): readonly boolean[] {
  const { shape, asked, most = Infinity } = SETUPS[row.text('kind')]!(row);
  return new OneCache(place, shape, asked, { most }).hits();
}
