import { describe, expect, it } from 'vitest';
import { Carrier } from '../../src/engine/carrier.js';
import { Wheel } from '../../src/engine/wheel.js';

const actor = { wake: (): void => {} };

/** Carriers due at these instants, put in one after the other; whether each found a place. */
function put(wheel: Wheel, instants: readonly number[]): { carriers: Carrier[]; found: boolean[] } {
  const carriers = instants.map((due, id) => {
    const carrier = new Carrier(actor, id, 0);
    carrier.due = due;
    carrier.rank = id;
    return carrier;
  });
  return { carriers, found: carriers.map((carrier) => wheel.put(carrier)) };
}

/** Takes all out, first come first. */
function drained(wheel: Wheel): number[] {
  const seen: number[] = [];
  let now = 0;
  while (wheel.count > 0) {
    const first = wheel.first(now);
    now = first.due;
    wheel.takeFirst(first);
    seen.push(first.due);
  }
  return seen;
}

/** Forty instants of the slot from 640 ps on: the last of them first, so that each other has to be walked to its place. */
const WALKED = [690, ...Array.from({ length: 39 }, (_, n) => 641 + n)];

describe('Wheel', () => {
  it('puts a crowded slot in order when its turn comes', () => {
    const wheel = new Wheel();
    const { found } = put(wheel, [...WALKED, 641, 640, 5000]);
    expect(found).not.toContain(false);
    expect(drained(wheel)).toEqual([...WALKED, 641, 640, 5000].toSorted((a, b) => a - b));
  });

  it('leaves to the heap what comes into the crowded slot whose turn it is', () => {
    const wheel = new Wheel();
    put(wheel, WALKED);
    const first = wheel.first(0);
    expect(first.due).toBe(641);
    expect(put(wheel, [660]).found).toEqual([false]);
    // before and behind all of them it needs no walk
    expect(put(wheel, [640, 691]).found).toEqual([true, true]);
    expect(drained(wheel)).toEqual([...WALKED, 640, 691].toSorted((a, b) => a - b));
  });

  it('gives back any carrier of a crowded slot, also the last, and keeps it in order after that', () => {
    const wheel = new Wheel();
    const { carriers } = put(wheel, WALKED);
    for (const carrier of carriers) wheel.take(carrier);
    expect(wheel.count).toBe(0);
    put(wheel, [...WALKED, 5000]);
    wheel.take(put(wheel, [660]).carriers[0]!);
    expect(drained(wheel)).toEqual([...WALKED, 5000].toSorted((a, b) => a - b));
  });
});
