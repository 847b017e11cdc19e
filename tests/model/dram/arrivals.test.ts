import { expect, test } from 'vitest';
import { randomStream } from '../../../src/engine/random.js';
import type { AccessQueue } from '../../../src/model/dram/access-queue.js';
import { Arrivals } from '../../../src/model/dram/arrivals.js';

/** What `Arrivals` reads of a queue. */
function stamps(capacity: number) {
  return {
    capacity,
    enteredAt: new Float64Array(capacity),
    enterClock: new Float64Array(capacity),
    age: new Float64Array(capacity),
  };
}

// 4 and 16 fill their ring, 6 does not
test.each([4, 6, 16])('a sorted list of up to %i is what comes out, first by time and then by age', (capacity) => {
  const queue = stamps(capacity);
  const arrivals = new Arrivals(queue as unknown as AccessQueue);
  const draw = randomStream('arrivals', capacity, 'ddr', 'test');
  const free = [...Array(capacity).keys()];
  const inside: number[] = [];
  const [seen, expected]: [unknown[], unknown[]] = [[], []];
  for (let step = 0; step < 500; step++) {
    if (free.length > 0 && draw() < 0.55) {
      const access = free.shift()!;
      queue.enteredAt[access] = Math.floor(step / 8) * 10 + Math.floor(draw() * 3) * 10;
      queue.enterClock[access] = queue.enteredAt[access]! / 10;
      queue.age[access] = Math.floor(draw() * 1e6);
      arrivals.push(access);
      inside.push(access);
      inside.sort((a, b) => queue.enteredAt[a]! - queue.enteredAt[b]! || queue.age[a]! - queue.age[b]!);
    } else if (inside.length > 0) {
      const first = inside.shift()!;
      seen.push(arrivals.shift());
      expected.push(first);
      free.push(first);
    }
    seen.push(arrivals.count, arrivals.headClock(), ...inside.map((_, place) => arrivals.nth(place)));
    expected.push(inside.length, inside.length === 0 ? Infinity : queue.enterClock[inside[0]!], ...inside);
  }
  expect(seen).toEqual(expected);
});
