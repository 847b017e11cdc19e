import { expect, test } from 'vitest';
import { HeldRequests } from '../../../src/model/coherence/held-requests.js';
import { Window } from '../../../src/model/window.js';

test('keeps requests in order, and tells those that were wanted within the window', () => {
  const held = new HeldRequests(new Window(100, 200));
  expect(held.wantedInside()).toEqual([]);
  for (const wantedPs of [50, 100, 199, 250])
    held.push({ wantedPs, offset: 0, bytes: 8, thinkPs: 0, serviceDraw: 0, ask: -1 });
  expect(held.wantedInside()).toEqual([100, 199]);
  expect([held.peek().wantedPs, held.shift().wantedPs, held.shift().wantedPs]).toEqual([50, 50, 100]);
  expect([held.peek().wantedPs, held.wantedInside()]).toEqual([199, [199]]);
});
