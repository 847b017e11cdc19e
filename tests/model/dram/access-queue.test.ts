import { expect, test } from 'vitest';
import { randomStream } from '../../../src/engine/random.js';
import type { Access } from '../../../src/model/dram/access.js';
import { AccessQueue } from '../../../src/model/dram/access-queue.js';
import type { BankList } from '../../../src/model/dram/bank.js';
import { BankState, Direction } from '../../../src/model/dram/bank-state.js';
import type { Side } from '../../../src/model/dram/side.js';
import { SearchedQueue } from './searched-queue.js';
import { DDR3 } from './trace.js';

const { read: READ, write: WRITE } = Direction;
const RANKS = 2;
/** Two ranks, and two banks of each, so that lists grow long. */
const BANKS = [0, 3, 8, 13];

/** What a list holds, walked both ways, and what it wants. */
function listSeen(list: BankList): unknown[] {
  const [forth, back]: [number[], number[]] = [[], []];
  for (let it = list.first; it !== null; it = it.next) forth.push(it.number);
  for (let it = list.last; it !== null; it = it.previous) back.unshift(it.number);
  const { kind, wantedAt: from, candidate } = list;
  const wants = list.place < 0 ? null : { kind, from, access: candidate!.number };
  return [forth, back, wants, list.place < 0 || list.key === candidate!.key];
}

function sideSeen(side: Side): unknown[] {
  const [forth, back]: [number[], number[]] = [[], []];
  for (let it = side.oldest; it !== null; it = it.newer) forth.push(it.number);
  for (let it = side.newest; it !== null; it = it.older) back.unshift(it.number);
  const active = side.active.slice(0, side.activeCount);
  const places = active.map((list) => list.place);
  const banks = active.map((list) => list.index).toSorted((a, b) => a - b);
  return [forth, back, side.queued, side.visible, side.oldestVisible()?.number ?? -1, places, banks];
}

/** A queue and one that is searched, to which the same is done at random. */
class Both {
  readonly state = new BankState(DDR3, RANKS);
  readonly queue: AccessQueue;
  readonly searched = new SearchedQueue();
  private readonly draw: () => number;
  private clock = 0;
  private nextAge = 0;

  constructor(seed: string, capacity: number) {
    this.queue = new AccessQueue(this.state, capacity);
    this.draw = randomStream(seed, 0, 'ddr', 'test');
  }

  below(n: number): number {
    return Math.floor(this.draw() * n);
  }

  insert(): void {
    if (this.searched.inside.size === this.queue.capacity) return;
    const access = this.queue.reserve();
    access.direction = this.below(2);
    access.bank = this.state.banks[BANKS[this.below(BANKS.length)]!]!;
    access.row = this.below(3);
    access.qos = this.below(4) === 0 ? this.below(16) : 0;
    // mostly the youngest comes last
    this.nextAge += 10;
    access.age = this.below(5) === 0 ? this.nextAge - 35 : this.nextAge;
    const waits = this.below(4) === 0 ? 1 + this.below(2) : 0;
    access.waits = waits;
    this.searched.hidden.set(access, waits);
    this.searched.inside.add(access);
    this.queue.insert(access);
  }

  take(): void {
    const access = this.one();
    if (access === undefined) return;
    this.searched.inside.delete(access);
    this.searched.needed.delete(access);
    if (this.below(2) === 0) {
      this.queue.remove(access);
    } else {
      this.queue.takeOut(access);
      this.queue.timersChanged(access.bank);
    }
    this.queue.release(access);
  }

  wait(more: number): void {
    const access = this.one();
    const waits = access === undefined ? 0 : this.searched.hidden.get(access)!;
    if (access === undefined || waits + more < 0) return;
    this.searched.hidden.set(access, waits + more);
    if (more > 0) this.queue.hide(access);
    else this.queue.unhide(access);
  }

  need(): void {
    const access = this.one();
    if (access === undefined || access.direction !== WRITE) return;
    this.searched.needed.add(access);
    this.queue.need(access);
  }

  /** A bank closes its row or opens one; sometimes only its timers change. */
  command(): void {
    const bank = this.state.banks[BANKS[this.below(BANKS.length)]!]!;
    this.clock += 100;
    if (bank.openRow < 0) {
      this.state.activate(bank, this.below(3), this.clock);
    } else if (this.below(2) === 0) {
      this.state.precharge(bank, this.clock);
    } else {
      this.state.read(bank, this.clock, false);
      this.queue.timersChanged(bank);
      return;
    }
    this.queue.rowChanged(bank);
  }

  private one(): Access | undefined {
    const all = [...this.searched.inside];
    return all[this.below(all.length)];
  }

  /** What the queue answers. */
  seen(): unknown[] {
    const { queue, state } = this;
    const lists = BANKS.flatMap((bank) => [state.banks[bank]!.reads, state.banks[bank]!.writes]);
    const banks = BANKS.map((bank) => [state.banks[bank]!.idle, [0, 1, 2].map((row) => state.banks[bank]!.wants(row))]);
    const counts = [queue.empty, queue.needed, [...queue.queuedInRank]];
    return [...lists.map(listSeen), sideSeen(queue.reads), sideSeen(queue.writes), banks, counts];
  }

  /** What it should. */
  expected(): unknown[] {
    const { searched, state } = this;
    const numbers = (accesses: readonly Access[]): number[] => accesses.map((access) => access.number);
    const lists = BANKS.flatMap((index) =>
      [READ, WRITE].map((direction) => {
        const bank = state.banks[index]!;
        const list = numbers(searched.list(bank, direction));
        return [list, list, searched.wanted(bank, direction), true];
      }),
    );
    const sides = [READ, WRITE].map((direction) => {
      const all = searched.of(direction);
      const visible = all.filter((access) => searched.visible(access));
      const banks = BANKS.filter((bank) => visible.some((access) => access.bank.index === bank));
      const places = banks.map((_, place) => place);
      return [numbers(all), numbers(all), all.length, visible.length, visible[0]?.number ?? -1, places, banks];
    });
    const banks = BANKS.map((bank) => {
      const there = [...searched.inside].filter((access) => access.bank.index === bank);
      return [there.length === 0, [0, 1, 2].map((row) => there.some((access) => access.row === row))];
    });
    const counts = [searched.inside.size === 0, searched.needed.size, [searched.inRank(0), searched.inRank(1)]];
    return [...lists, ...sides, banks, counts];
  }
}

test.each([
  ['a', 3],
  ['b', 8],
  ['c', 24],
])('a queue answers what a search would, run %s of up to %i accesses', (seed, capacity) => {
  const both = new Both(seed, capacity);
  const deeds = [
    () => both.insert(),
    () => both.insert(),
    () => both.take(),
    () => both.wait(1),
    () => both.wait(-1),
    () => both.need(),
    () => both.command(),
  ];
  for (let step = 0; step < 400; step++) {
    deeds[both.below(deeds.length)]!();
    expect(both.seen()).toEqual(both.expected());
  }
});

test('an access that was released is given out again as new', () => {
  const queue = new AccessQueue(new BankState(DDR3, 1), 2);
  const first = queue.reserve();
  const second = queue.reserve();
  expect([first.number, second.number]).toEqual([0, 1]);
  Object.assign(first, { rowState: 3, waits: 2, overlaps: 1, after: 7 });
  queue.release(first);
  const again = queue.reserve();
  expect(again).toBe(first);
  expect([again.rowState, again.waits, again.overlaps, again.after]).toEqual([0, 0, 0, -1]);
});
