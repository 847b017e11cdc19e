import seedrandom from 'seedrandom';
import type { Comparison } from '../outside-check.js';
import { type ReferenceRow, referenceTable, rowsBy } from '../reference-table.js';
import { OneCache, type Place, type Shape } from './one-cache.js';
import { comparison, countHits, keyOf, PLACES, type Planned, ROWS, ruleOf } from './rows.js';
import { sourceOf } from './sources.js';

/** Traces of which every hit, miss and victim was worked out by hand, and what follows for the number of ways. */

const STEPS = rowsBy(referenceTable(new URL('data/cache-traces.csv', import.meta.url)), 'trace_id');
/** Ways up to which stack distances are looked for; no distance in the traces is larger. */
const MOST_WAYS = 8;

const linesOf = (trace: string): number[] => STEPS.get(trace)!.map((step) => step.number('line'));
const bufferLinesOf = (lines: readonly number[]): number => Math.max(...lines) + 1;

function shapeOf(trace: string, replacement: Shape['replacement'], ways?: number): Shape {
  const [step] = STEPS.get(trace)!;
  return { sets: step!.number('sets'), ways: ways ?? step!.number('ways'), replacement, lineBytes: 64 };
}

function hitsAt(place: Place, shape: Shape, lines: readonly number[]): readonly boolean[] {
  return new OneCache(place, shape, { lines, bufferLines: bufferLinesOf(lines) }).hits();
}

/** The rows of the table that count what happens on a trace. */
export const traceRows: readonly Planned[] = ROWS.filter((row) => row.text('kind') === 'worked_trace').map((row) => ({
  key: keyOf(row),
  run: () => PLACES.map((place) => comparison(row, place, 'accesses', countOn(row, place))),
}));

function countOn(row: ReferenceRow, place: Place): number {
  const trace = row.text('cache_id');
  const lines = linesOf(trace);
  const metric = row.text('metric');
  if (metric === 'hits') return countHits(hitsAt(place, shapeOf(trace, ruleOf(row)), lines));
  // with room for all, only the first touch of a line misses
  if (metric === 'cold_misses') {
    return lines.length - countHits(hitsAt(place, shapeOf(trace, 'lru', bufferLinesOf(lines)), lines));
  }
  const distance = Number(/^stack_distance_(\d+)_count$/.exec(metric)![1]);
  return distances(place, trace).filter((found) => found === distance).length;
}

/** By step: the fewest ways with which an LRU cache hits, or Infinity where it never does: the stack distance (MAT70). */
function distances(place: Place, trace: string): number[] {
  const lines = linesOf(trace);
  const found = lines.map(() => Infinity);
  for (let ways = MOST_WAYS; ways >= 1; ways--) {
    for (const [step, hit] of hitsAt(place, shapeOf(trace, 'lru', ways), lines).entries()) if (hit) found[step] = ways;
  }
  return found;
}

/** Step by step: hit or miss, the line that is pushed out, and the stack distance. */
export function stepChecks(): Comparison[] {
  return [...STEPS].flatMap(([trace, steps]) =>
    PLACES.flatMap((place) => [
      ...(['lru', 'fifo', 'plru'] as const).map((policy) => policyCheck(trace, steps, policy, place)),
      distanceCheck(trace, steps, place),
    ]),
  );
}

function policyCheck(
  trace: string,
  steps: readonly ReferenceRow[],
  policy: 'lru' | 'fifo' | 'plru',
  place: Place,
): Comparison {
  const lines = linesOf(trace);
  const shape = shapeOf(trace, policy === 'plru' ? 'tree_plru' : policy);
  const found = new OneCache(place, shape, { lines, bufferLines: bufferLinesOf(lines) }).steps();
  const right = steps.filter((step, k) => {
    const { hit, evicted } = found[k]!;
    return hit === (step.text(policy) === 'H') && String(evicted ?? '') === step.text(`${policy}_evicts`);
  });
  return {
    check: `${trace} ${policy} steps with the hit or miss and the victim as worked out, ${place}`,
    source: sourceOf(policy === 'lru' ? 'MAT70' : 'README'),
    unit: 'steps',
    expected: steps.length,
    measured: right.length,
  };
}

function distanceCheck(trace: string, steps: readonly ReferenceRow[], place: Place): Comparison {
  const found = distances(place, trace);
  const right = steps.filter((step, i) => {
    const cell = step.text('lru_stack_distance');
    return found[i] === (cell === 'cold' ? Infinity : Number(cell));
  });
  return {
    check: `${trace} steps with the stack distance as worked out, ${place}`,
    source: sourceOf('MAT70'),
    unit: 'steps',
    expected: steps.length,
    measured: right.length,
  };
}

/** A long random trace: an LRU cache of any number of ways hits exactly where the stack distance is at most that. */
export function stackChecks(accesses: number): Comparison[] {
  const random = seedrandom.xor4096('stack distances');
  const sets = 4;
  const lines = Array.from({ length: accesses }, () => Math.floor(random() * random() * 60));
  const stack = stackDistances(lines, sets);
  return [1, 2, 3, 4, 6, 8, 12, 16].flatMap((ways) =>
    PLACES.map((place): Comparison => {
      const shape: Shape = { sets, ways, replacement: 'lru', lineBytes: 64 };
      return {
        check: `hits on a random trace of an LRU cache of ${sets} sets of ${ways}, ${place}`,
        source: sourceOf('MAT70'),
        unit: 'accesses',
        expected: stack.filter((distance) => distance <= ways).length,
        measured: countHits(hitsAt(place, shape, lines)),
      };
    }),
  );
}

/** Mattson's stack, one a set: how many distinct lines of its set were touched since the line was, itself included. */
function stackDistances(lines: readonly number[], sets: number): number[] {
  const stacks = Array.from({ length: sets }, (): number[] => []);
  return lines.map((line) => {
    const stack = stacks[line % sets]!;
    const depth = stack.indexOf(line);
    if (depth >= 0) stack.splice(depth, 1);
    stack.unshift(line);
    return depth < 0 ? Infinity : depth + 1;
  });
}
