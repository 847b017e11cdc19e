import { expect, test } from 'vitest';
import { Calendar } from '../../src/engine/calendar.js';
import { Phase } from '../../src/engine/phase.js';

test('what is asked to be due by the time at which it is due already keeps its turn', () => {
  const calendar = new Calendar();
  const seen: number[] = [];
  const [first, second] = [0, 1].map((tag) => calendar.carrier({ wake: (t) => seen.push(t) }, tag, Phase.decide));
  calendar.arm(first!, 40);
  calendar.arm(second!, 40);
  calendar.armBy(first!, 40);
  calendar.run(Infinity);
  expect(seen).toEqual([0, 1]);
});

test('a carrier can be armed as soon as it is made, however many there are', () => {
  const calendar = new Calendar();
  const seen: number[] = [];
  const expected: number[] = [];
  for (let tag = 0; tag < 260; tag++) {
    const carrier = calendar.carrier({ wake: (t) => seen.push(t) }, tag, Phase.decide);
    expect(carrier.due).toBe(Infinity);
    calendar.armBy(carrier, 1000 + tag);
    expect(carrier.due).toBe(1000 + tag);
    expected.push(tag);
  }
  calendar.run(Infinity);
  expect(seen).toEqual(expected);
});
