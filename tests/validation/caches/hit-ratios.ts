import seedrandom from 'seedrandom';
import { studentQuantile } from '../../../src/measure/statistics/student.js';
import type { Comparison, Depth } from '../outside-check.js';
import { type ReferenceRow, rowsBy } from '../reference-table.js';
import { sweep } from './counts.js';
import { type Asked, OneCache, type Place, type Shape } from './one-cache.js';
import { comparison, countHits, given, keyOf, oneSet, ROWS, ruleOf } from './rows.js';

/** Long-run hit ratios: independent replications with fixed seeds, and a t interval over them. */

/** One chance in a hundred that any comparison of the area fails by accident. */
const FAMILY_ERROR = 0.01;
/** Accesses dropped before counting, by line of capacity. */
const WARM_UP = 60;
/** Che's form where no exact value is known: its error is below this (for 10000 lines). */
const CHE_FAR = 0.0005;

interface Extent {
  readonly replications: number;
  readonly accesses: number;
}

const EXTENT = { quick: { replications: 10, accesses: 6000 }, full: { replications: 20, accesses: 20_000 } } as const;
/** The same for caches of many lines, whose warm-up is long. */
const LARGE = { replications: 10, accesses: 30_000 };
const LARGE_LINES = 500;
/** Widest half interval that is still a test. */
const WIDEST = { quick: 0.02, full: 0.01 };

/** A cache under one load, and the rows that speak of its hit ratio. */
interface Ratio {
  readonly place: Place;
  readonly shape: Shape;
  readonly rows: readonly ReferenceRow[];
  readonly asked: (accesses: number, replication: number) => Asked;
}

/** Rows about hit ratios, by the cache they are about. */
const GROUPS = rowsBy(
  ROWS.filter((row) => row.text('kind').startsWith('irm') || row.text('metric') === 'hit_ratio_long_run'),
  'cache_id',
);

/** Caches small enough to be tried in the tests too. */
const SMALL = new Set(['irm_8_4', 'irmset_16_2x4', 'sweep_9_8']);
/** Caches also tried behind a coherent port, by depth. */
const SHARED = {
  quick: new Set(['irm_8_4']),
  full: new Set(['irm_8_4', 'irm_16_4', 'irmset_16_2x4', 'sweep_9_8']),
};

function ratiosOf(depth: Depth): Ratio[] {
  return [...GROUPS].flatMap(([id, rows]) => {
    if (depth === 'quick' && !SMALL.has(id)) return [];
    const places: Place[] = SHARED[depth].has(id) ? ['L1', 'L2'] : ['L1'];
    return [...rowsBy(rows, 'policy').values()].flatMap((own) => places.map((place) => ratioOf(place, own)));
  });
}

function ratioOf(place: Place, rows: readonly ReferenceRow[]): Ratio {
  const [row] = rows;
  const replacement = ruleOf(row!);
  const lines = given(row!, 'lines');
  switch (row!.text('kind')) {
    case 'cyclic_sweep': {
      const shape = oneSet(given(row!, 'capacity'), replacement);
      const asked = (accesses: number): Asked => ({
        lines: sweep(lines, Math.ceil(accesses / lines)),
        bufferLines: lines,
      });
      return { place, shape, rows, asked };
    }
    case 'irm_set_associative': {
      const shape = { ...oneSet(given(row!, 'ways'), replacement), sets: given(row!, 'sets') };
      const exponent = given(row!, 'zipf_alpha');
      const asked = (accesses: number, replication: number): Asked => ({
        lines: byRank(lines, exponent, accesses, replication),
        bufferLines: lines,
      });
      return { place, shape, rows, asked };
    }
    default: {
      const shape = oneSet(given(row!, 'capacity'), replacement);
      const pattern = { pattern: 'zipf', exponent: given(row!, 'zipf_alpha'), lineBytes: 64 } as const;
      return { place, shape, rows, asked: () => ({ pattern, bufferLines: lines }) };
    }
  }
}

/** Independent references in which line r − 1 has rank r: in sets it matters which line is how popular. */
function byRank(lines: number, exponent: number, accesses: number, replication: number): number[] {
  const sums: number[] = [];
  for (let rank = 1; rank <= lines; rank++) sums.push((sums.at(-1) ?? 0) + rank ** -exponent);
  const random = seedrandom.xor4096(`references ${replication}`);
  return Array.from({ length: accesses }, () => {
    const at = random() * sums.at(-1)!;
    return sums.findIndex((sum) => at < sum);
  });
}

/** Keys of the rows that a depth compares. */
export const ratioKeys = (depth: Depth): string[] => ratiosOf(depth).flatMap(({ rows }) => rows.map(keyOf));

/** All comparisons of hit ratios, and one of how wide their intervals are. */
export function ratioChecks(depth: Depth, progress: (share: number) => void): Comparison[] {
  const ratios = ratiosOf(depth);
  const comparisons = ratios.reduce((sum, { rows }) => sum + rows.length, 0);
  let largest = 0;
  const checks = ratios.flatMap((ratio, done) => {
    const { mean, half } = interval(samplesOf(ratio, extentOf(ratio, depth)), FAMILY_ERROR / comparisons);
    largest = Math.max(largest, half);
    progress((done + 1) / ratios.length);
    return ratio.rows.map((row) => judged(row, ratio.place, mean, half));
  });
  const precision = 'a noisy simulator must not pass';
  const width = {
    check: 'widest half interval of a hit ratio',
    source: precision,
    unit: 'share',
    expected: WIDEST[depth],
  };
  return [...checks, { ...width, measured: largest, relation: 'at_most' }];
}

const extentOf = ({ shape }: Ratio, depth: Depth): Extent =>
  shape.sets * shape.ways > LARGE_LINES ? LARGE : EXTENT[depth];

function samplesOf({ place, shape, asked }: Ratio, { replications, accesses }: Extent): number[] {
  const warmUp = WARM_UP * shape.sets * shape.ways;
  const most = warmUp + accesses;
  return Array.from({ length: replications }, (_, i) => {
    const replication = i + 1;
    const hits = new OneCache(place, shape, asked(most, replication), { most, replication }).hits();
    return countHits(hits.slice(warmUp, most)) / accesses;
  });
}

/** Mean of the replications' results and the half width of its interval, which misses the truth with this chance. */
function interval(samples: readonly number[], error: number): { mean: number; half: number } {
  const t = studentQuantile(1 - error / 2, samples.length - 1);
  const mean = samples.reduce((sum, x) => sum + x, 0) / samples.length;
  const variance = samples.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (samples.length - 1);
  return { mean, half: t * Math.sqrt(variance / samples.length) };
}

/** An approximation may be off by its stated error besides. */
function judged(row: ReferenceRow, place: Place, mean: number, half: number): Comparison {
  const metric = row.text('metric');
  if (metric === 'che_error') {
    const approximation = sameCache(row, 'hit_ratio_che')!.number('value');
    return { ...comparison(row, place, 'share', approximation - mean), tolerance: half };
  }
  const slack = metric.startsWith('hit_ratio_che') ? statedError(row) : 0;
  return { ...comparison(row, place, 'share', mean), tolerance: half + slack };
}

/** By how much an approximation misses the exact value, where that is known. */
function statedError(row: ReferenceRow): number {
  const exact = sameCache(row, 'hit_ratio');
  return exact === undefined ? CHE_FAR : Math.abs(row.number('value') - exact.number('value'));
}

function sameCache(row: ReferenceRow, metric: string): ReferenceRow | undefined {
  return GROUPS.get(row.text('cache_id'))!.find(
    (other) => other.text('metric') === metric && other.text('policy') === row.text('policy'),
  );
}
