import { expect, test } from 'vitest';
import type { Invariant } from './invariant.js';
import { recheck, soak, type SoakOptions } from './soak-run.js';

/** A fault that is planted: it finds two servers at a device that some master asks. */
const planted: Invariant = {
  number: 9,
  name: 'planted',
  states: 'no device has two servers',
  *breaches({ system, observation }) {
    for (const element of system.elements) {
      if (element.kind !== 'device' || element.servers < 2) continue;
      const asked = observation.watch.visits.some((visit) => visit.element.base.name === element.name);
      if (asked) yield `${element.name} has ${element.servers} servers`;
    }
  },
};

const holds: Invariant = { number: 1, name: 'true', states: 'nothing', breaches: () => [] };

function run(invariants: readonly Invariant[], platforms = 200) {
  const saved: string[] = [];
  const said: string[] = [];
  let tried = 0;
  const options: SoakOptions = {
    platforms,
    seed: 5,
    invariants,
    save: (text) => saved.push(text),
    say: (line) => said.push(line),
    onPlatform: (_system, count) => (tried = count),
    onFailure: () => {},
  };
  return { held: soak(options), saved, said, tried };
}

test('a failure is made smaller and saved as a scenario that reads back and fails again', () => {
  const { held, saved, said, tried } = run([holds, planted]);
  expect(held).toBe(false);
  expect(saved).toHaveLength(1);
  const [text] = saved as [string];
  expect(text).toMatch(/^# Breaks the invariant ‘planted’; found by npm run soak -- --seed 5/);
  expect(text).toMatch(/^# dev\d has [23] servers$/m);
  expect(said[0]).toMatch(`platform ${tried} breaks ‘planted’`);
  const failure = recheck(text, [holds, planted])!;
  expect(failure.invariant).toBe('planted');
  // no master, port or switch more than the fault needs
  expect(text.match(/^ {2}m\d+:$/gm)).toHaveLength(1);
  expect(text.match(/^ {4}switch\d+:$/gm)).toHaveLength(1);
  expect(text.match(/servers: 2$/gm)).toHaveLength(1);
});

test('where nothing fails nothing is saved', () => {
  expect(run([holds], 20)).toEqual({ held: true, saved: [], said: [], tried: 20 });
});

test('an invariant that throws fails with what it threw', () => {
  const broken: Invariant = {
    ...holds,
    name: 'broken',
    breaches: () => {
      throw new Error('it cannot be judged');
    },
  };
  const { held, saved } = run([broken], 3);
  expect(held).toBe(false);
  expect(saved[0]).toMatch(/^# Error: it cannot be judged$/m);
});
