import { expect, it } from 'vitest';
import type { PlaceSpec } from '../../../src/scenario/scenario.js';
import { assignmentClasses, assignmentsOf } from '../../../src/study/place/assignments.js';

const PORTS = ['c', 'f0', 'f1', 'f2', 'g'];
const CLASSES = [['c'], ['f0', 'f1', 'f2'], ['g']];
const best = { name: 'best', kind: 'utilisation', element: 'ddr' } as const;

function placeOf(mayAttach: Record<string, readonly string[]>, share: boolean): PlaceSpec {
  return { mayAttach: new Map(Object.entries(mayAttach).map(([name, ports]) => [name, [...ports]])), best, share };
}

const four = { p: PORTS, q: PORTS, r: PORTS, s: PORTS };
const shown = (attachment: ReadonlyMap<string, string>): string => [...attachment.values()].join(' ');

it('lists the assignments in the order of the file', () => {
  const place = placeOf({ p: ['c', 'f0'], q: ['f0', 'c'] }, true);
  expect([...assignmentsOf(place)].map(shown)).toEqual(['c f0', 'c c', 'f0 f0', 'f0 c']);
  expect([...assignmentsOf({ ...place, share: false })].map(shown)).toEqual(['c f0', 'f0 c']);
});

it('identical ports leave 20 of 120 assignments of four to five ports', () => {
  const classes = assignmentClasses(placeOf(four, false), CLASSES);
  // three at f and one elsewhere: 4 × 2; two at f: the two others at c and g, 4 × 3
  expect(classes.length).toBe(8 + 12);
  expect(classes.reduce((sum, { assignments }) => sum + assignments, 0)).toBe(120);
  // 3! ways for three at f, 3 × 2 for two
  expect(classes.every(({ assignments }) => assignments === 6)).toBe(true);
});

it('and 150 of 625 where ports are shared: who is together counts, not where', () => {
  const classes = assignmentClasses(placeOf(four, true), CLASSES);
  // m of them at f in any partition of at most three parts: 1, 1, 2, 5, 14; the others at c or g
  expect(classes.length).toBe(16 + 4 * 8 + 6 * 2 * 4 + 4 * 5 * 2 + 14);
  expect(classes.reduce((sum, { assignments }) => sum + assignments, 0)).toBe(625);
});

it('a class stands only for what is allowed', () => {
  const classes = assignmentClasses(placeOf({ p: ['f0', 'f1'], q: ['f1'] }, true), CLASSES);
  expect(classes.map(({ attachment, assignments }) => [shown(attachment), assignments])).toEqual([
    ['f0 f1', 1],
    ['f1 f1', 1],
  ]);
});

it('says so where there is none or there are too many', () => {
  expect(() => assignmentClasses(placeOf({ p: ['c'], q: ['c'] }, false), CLASSES)).toThrow('place.share: yes');
  const many = Object.fromEntries(Array.from({ length: 8 }, (_, i) => [`m${i}`, PORTS]));
  expect(() => assignmentClasses(placeOf(many, true), CLASSES)).toThrow('more than 100000 assignments');
});
