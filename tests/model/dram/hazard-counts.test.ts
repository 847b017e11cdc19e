import { expect, test } from 'vitest';
import type { Access } from '../../../src/model/dram/access.js';
import { AccessQueue } from '../../../src/model/dram/access-queue.js';
import { BankState } from '../../../src/model/dram/bank-state.js';
import { Hazards } from '../../../src/model/dram/hazards.js';
import { DDR3 } from './trace.js';

/** Hazards on a queue; accesses are of 32 bytes, each older than those made after it. */
class Bench {
  readonly state = new BankState(DDR3, 1);
  readonly queue = new AccessQueue(this.state, 16);
  readonly hazards = new Hazards(this.queue, false);
  private age = 0;

  access(direction: number, bank: number, row: number, column: number): Access {
    const access = this.queue.reserve();
    const place = { direction, bank: this.state.banks[bank]!, row, column };
    return Object.assign(access, place, { age: this.age++, enteredAt: 0, low: 0, high: 32, suspect: 0, qos: 0 });
  }

  enter(access: Access): boolean {
    this.hazards.coming(access);
    this.queue.insert(access);
    return this.hazards.entered(access);
  }
}

test('an access may meet one of the other direction from when that is on its way until it has gone', () => {
  for (const direction of [0, 1]) {
    const one = new Bench();
    const [first, second, other] = [direction, direction, 1 - direction].map((d) => one.access(d, 2, 7, 5));
    one.hazards.coming(other!);
    expect(one.hazards.mayMeet(other!)).toBe(false);
    one.hazards.coming(first!);
    one.hazards.coming(second!);
    expect(one.hazards.mayMeet(other!)).toBe(true);
    one.hazards.gone(first!);
    expect(one.hazards.mayMeet(other!)).toBe(true);
    one.hazards.gone(second!);
    expect([one.hazards.mayMeet(other!), one.hazards.mayMeet(first!)]).toEqual([false, true]);
  }
});

test('that is seldom so for nothing', () => {
  const bench = new Bench();
  bench.hazards.coming(bench.access(1, 2, 3, 4));
  const met: string[] = [];
  const probe = bench.access(0, 0, 0, 0);
  for (let row = 0; row < 8; row++) {
    for (let column = 0; column < 8; column++) {
      for (let bank = 0; bank < 8; bank++) {
        Object.assign(probe, { row, column, bank: bench.state.banks[bank]! });
        bench.hazards.coming(probe);
        if (bench.hazards.mayMeet(probe)) met.push(`${row} ${column} ${bank}`);
        bench.hazards.gone(probe);
      }
    }
  }
  expect(met).toContain('3 4 2');
  // of 512 places
  expect(met.length).toBeLessThan(6);
});

test('a read that waits for its turn is not answered from the queue, though a write covers it', () => {
  const bench = new Bench();
  const write = bench.access(1, 2, 3, 4);
  const read = bench.access(0, 2, 3, 4);
  read.waits = 1;
  expect([bench.enter(write), bench.enter(read)]).toEqual([false, true]);
  expect([bench.hazards.pending, read.waits]).toEqual([1, 2]);
  expect(bench.hazards.resolveNext()).toBe(null);
  // for its turn, and for the write
  expect([bench.hazards.pending, read.waits, read.overlaps, bench.queue.needed]).toEqual([0, 2, 1, 1]);
  bench.queue.remove(write);
  bench.hazards.gone(write);
  bench.hazards.left(write);
  expect([read.waits, read.overlaps]).toEqual([1, 0]);
});

test('a read is looked at only where it meets a write to the same place', () => {
  const bench = new Bench();
  bench.enter(bench.access(1, 2, 3, 4));
  // the same hash, and another place: 31 columns are one row
  const read = bench.access(0, 2, 2, 4 + 31);
  expect(bench.enter(read)).toBe(false);
  expect([bench.hazards.pending, read.waits]).toEqual([0, 0]);
  // of two writes that it overlaps, each must have gone
  const later = bench.access(1, 2, 2, 4 + 31);
  later.high = 8;
  const second = bench.access(1, 2, 2, 4 + 31);
  second.low = 24;
  // they came with the read: it is looked at once
  expect([bench.enter(later), bench.enter(second), bench.hazards.pending]).toEqual([true, false, 1]);
  expect(bench.hazards.resolveNext()).toBe(null);
  expect([read.waits, read.overlaps, bench.queue.needed]).toEqual([2, 2, 2]);
  for (const [write, left] of [
    [later, 1],
    [second, 0],
  ] as const) {
    bench.queue.remove(write);
    bench.hazards.gone(write);
    bench.hazards.left(write);
    expect([read.waits, read.overlaps]).toEqual([left, left]);
  }
});
