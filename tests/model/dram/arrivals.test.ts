import { expect, test } from 'vitest';
import { randomStream } from '../../../src/engine/random.js';
import { Access } from '../../../src/model/dram/access.js';
import { Arrivals } from '../../../src/model/dram/arrivals.js';
import { Bank } from '../../../src/model/dram/bank.js';

// 4 and 16 fill their ring, 6 does not
test.each([4, 6, 16])('a sorted list of up to %i is what comes out, first by time and then by age', (capacity) => {
  const bank = new Bank(0, 0, 0);
  const pool = Array.from({ length: capacity }, (_, number) => new Access(number, bank));
  const arrivals = new Arrivals(pool);
  const draw = randomStream('arrivals', capacity, 'ddr', 'test');
  const free = [...pool];
  const inside: Access[] = [];
  const [seen, expected]: [unknown[], unknown[]] = [[], []];
  for (let step = 0; step < 500; step++) {
    if (free.length > 0 && draw() < 0.55) {
      const access = free.shift()!;
      access.enteredAt = Math.floor(step / 8) * 10 + Math.floor(draw() * 3) * 10;
      access.enterClock = access.enteredAt / 10;
      access.age = Math.floor(draw() * 1e6);
      arrivals.push(access);
      inside.push(access);
      inside.sort((a, b) => a.enteredAt - b.enteredAt || a.age - b.age);
    } else if (inside.length > 0) {
      const first = inside.shift()!;
      seen.push(arrivals.shift().number);
      expected.push(first.number);
      free.push(first);
    }
    seen.push(arrivals.count, arrivals.headClock, ...inside.map((_, place) => arrivals.nth(place).number));
    expected.push(inside.length, inside[0]?.enterClock ?? Infinity, ...inside.map(({ number }) => number));
  }
  expect(seen).toEqual(expected);
});
