import { expect, test } from 'vitest';
import { Calendar } from '../../../src/engine/calendar.js';
import { Clock } from '../../../src/engine/clock.js';
import { MemoryBooks } from '../../../src/measure/journey/memory-books.js';
import { UseLog } from '../../../src/measure/journey/use-log.js';
import type { Channel } from '../../../src/model/dram/channel.js';

/** The books of a channel that has had its last column command for `lastColumn`, at clock 8 of 1250 ps. */
function booksOf(lastColumn: number): { use: UseLog; books: MemoryBooks; calendar: Calendar } {
  const calendar = new Calendar();
  const use = new UseLog(calendar, []);
  const channel = { queue: { capacity: 4 }, last: { ofColumn: lastColumn, columnClock: 8 } } as Channel;
  return { use, books: new MemoryBooks(channel, new Clock('dram', 1250, 1), 7, 13_750, 5000, use), calendar };
}

test('when notes are to be taken, whom the channel served last before is known, and that it was before this instant', () => {
  const { use, books, calendar } = booksOf(3);
  calendar.now = 12_000;
  books.open();
  expect([use.nextEarlier, use.whoOf(0), use.toOf(0)]).toEqual([1, 3, 10_000]);
  books.open();
  expect(use.next).toBe(1);
});

test('a channel that has served nobody has nothing to say', () => {
  const { use, books } = booksOf(-1);
  books.open();
  expect(use.next).toBe(0);
});
