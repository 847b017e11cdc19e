import { expect, it } from 'vitest';
import { Carrier, before } from '../../src/engine/carrier.js';
import { randomStream } from '../../src/engine/random.js';
import { SlotSorter } from '../../src/engine/slot-sorter.js';

const actor = { wake: (): void => {} };

/** Carriers due at random, many of them at one instant, as they came. */
function carriers(count: number): Carrier[] {
  const draw = randomStream('slot', count, 'sorter', 'test');
  return Array.from({ length: count }, (_, id) => {
    const carrier = new Carrier(actor, id, Math.floor(draw() * 3));
    carrier.due = Math.floor(draw() * 8);
    carrier.rank = carrier.phase + id;
    return carrier;
  });
}

it.each([1, 2, 3, 7, 8, 9, 100, 1000])(
  '%i carriers come out in the order of time, phase and arming, twice in a row',
  (count) => {
    const sorter = new SlotSorter();
    for (let round = 0; round < 2; round++) {
      const all = carriers(count);
      for (const [n, carrier] of all.entries()) carrier.later = all[n + 1] ?? null;
      const seen: number[] = [];
      for (let it: Carrier | null = sorter.sort(all[0]!); it !== null; it = it.later) seen.push(it.tag);
      expect(seen).toEqual(all.toSorted((a, b) => (before(a, b) ? -1 : 1)).map(({ tag }) => tag));
    }
  },
);
