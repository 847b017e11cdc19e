import { UsageError } from '../errors.js';
import { randomStream } from '../engine/random.js';
import { at, type Axis, valuesOf, written } from '../scenario/axis.js';

/** Points of one sweep. */
const MOST_POINTS = 10_000;

/** Every combination of the values of all keys; the last key changes first. */
export function gridOf(axes: readonly Axis[]): string[][] {
  const values = axes.map(valuesOf);
  const count = values.reduce((product, list) => product * list.length, 1);
  if (count > MOST_POINTS) {
    throw new UsageError(`the grid has ${count} points; vary fewer values, or take some of them with --samples`);
  }
  return values.reduce<string[][]>((rows, list) => rows.flatMap((row) => list.map((value) => [...row, value])), [[]]);
}

/**
 * Points that fill the space of all keys evenly, however many keys there are: a Latin hypercube (McKay, Beckman and
 * Conover, Technometrics 21(2), 1979). The range of each key is cut into `count` equal parts, each of which one point has,
 * at a place drawn within it; which point has which part is drawn for each key by itself.
 */
export function sampleOf(axes: readonly Axis[], count: number, seed: string): string[][] {
  const columns = axes.map((axis) => {
    const random = randomStream(seed, 0, axis.key, 'sweep sample');
    const parts = shuffled(count, random);
    return parts.map((part) => valueAt(axis, (part + random()) / count));
  });
  return Array.from({ length: count }, (_, point) => columns.map((column) => column[point]!));
}

function valueAt(axis: Axis, share: number): string {
  if (axis.kind === 'range') return written(axis, at(axis, share));
  return axis.values[Math.floor(share * axis.values.length)]!;
}

/** 0 to count − 1 in an order drawn at random (Fisher and Yates; Durstenfeld, Comm. ACM 7(7), 1964). */
function shuffled(count: number, random: () => number): number[] {
  const order = Array.from({ length: count }, (_, place) => place);
  for (let left = count - 1; left > 0; left--) {
    const other = Math.floor(random() * (left + 1));
    [order[left], order[other]] = [order[other]!, order[left]!];
  }
  return order;
}
