import { expect, test } from 'vitest';
import { PendingVictims, ReplayList } from '../../../src/model/coherence/tag-pipeline.js';

test('lines to be looked up again keep their order when one is taken from between', () => {
  const list = new ReplayList();
  for (const slot of [5, 6, 7]) list.push(slot, slot * 10);
  list.remove(1);
  expect([list.length, list.slots, list.lines]).toEqual([2, [5, 7], [50, 70]]);
});

test('each requester has a victim of its own, and they are counted', () => {
  const victims = new PendingVictims(3);
  victims.set(1, 0, 4);
  victims.set(2, 99, 5);
  expect([0, 1, 2].map((requester) => victims.line(requester))).toEqual([-1, 0, 99]);
  expect([victims.count, victims.master(1), victims.master(2)]).toEqual([2, 4, 5]);
  victims.clear(1);
  expect([victims.count, victims.line(1), victims.line(2)]).toEqual([1, -1, 99]);
});
