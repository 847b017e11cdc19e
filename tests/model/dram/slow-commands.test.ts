import { expect, test } from 'vitest';
import { Bank } from '../../../src/model/dram/bank.js';
import { Command } from '../../../src/model/dram/command.js';
import { SlowCommands } from '../../../src/model/dram/slow-commands.js';

const BANK = new Bank(0, 0, 0);
const [ACTIVATE_CLOCKS, COLUMN_CLOCKS] = [4, 3];

/** May a command that is legal at 10 start then, with one of another class that becomes legal at `otherAt`? */
function mayStart(kind: number, otherAt: number, otherRank = 1): boolean {
  const slow = new SlowCommands(2, ACTIVATE_CLOCKS, COLUMN_CLOCKS);
  slow.add(10, 2, kind, BANK, null);
  slow.add(otherAt, otherRank, Command.precharge, BANK, null);
  return slow.mayStart(0, 10);
}

test.each([
  ['activate', Command.activate, ACTIVATE_CLOCKS],
  ['read', Command.read, COLUMN_CLOCKS],
  ['write', Command.write, COLUMN_CLOCKS],
  ['precharge', Command.precharge, 1],
])('%s waits for one of a higher class that becomes legal before it ends', (_, kind, clocks) => {
  for (let after = 1; after <= 5; after++) expect(mayStart(kind, 10 + after)).toBe(after >= clocks);
});

test('it does not wait for one of its own class or a lower one, nor for one that is legal already', () => {
  expect([mayStart(Command.activate, 11, 2), mayStart(Command.activate, 11, 3)]).toEqual([true, true]);
  expect([mayStart(Command.activate, 10), mayStart(Command.activate, 4)]).toEqual([true, true]);
});

test('clocks at which one becomes legal follow one another, each once', () => {
  const slow = new SlowCommands(4, ACTIVATE_CLOCKS, COLUMN_CLOCKS);
  for (const at of [7, 3, 7, 12]) slow.add(at, 0, Command.read, BANK, null);
  expect([slow.next(-1), slow.next(3), slow.next(7), slow.next(12)]).toEqual([3, 7, 12, Infinity]);
  expect([slow.mayStart(0, 6), slow.mayStart(0, 7)]).toEqual([false, true]);
});
