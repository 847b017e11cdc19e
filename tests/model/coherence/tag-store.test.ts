import seedrandom from 'seedrandom';
import { describe, expect, test } from 'vitest';
import { LineState, TagStore } from '../../../src/model/coherence/tag-store.js';
import { makeRule } from '../../../src/model/coherence/replacement.js';
import type { Replacement } from '../../../src/scenario/scenario.js';

// Worked traces, exact counts and hit ratios from outside are checked on simulated caches: see ../../validation/caches.

const RULES: readonly Replacement[] = ['lru', 'fifo', 'tree_plru', 'random'];

function makeTags(sets: number, ways: number, replacement: Replacement): TagStore {
  const random = seedrandom.xor4096('tags');
  return new TagStore({ bytes: sets * ways * 64, ways, replacement }, 64, () => random());
}

/** One access; answers whether it hit. */
function access(tags: TagStore, line: number): boolean {
  const place = tags.find(line);
  if (place >= 0) tags.touch(place);
  else tags.fill(tags.choose(line), line, LineState.exclusive);
  return place >= 0;
}

const hitsOf = (tags: TagStore, lines: Iterable<number>): number => {
  let hits = 0;
  for (const line of lines) if (access(tags, line)) hits++;
  return hits;
};

function* sweep(lines: number, passes: number): Iterable<number> {
  for (let pass = 0; pass < passes; pass++) for (let line = 0; line < lines; line++) yield line;
}

describe('tag store', () => {
  test('a buffer that fits is all hits after its first pass, under every rule', () => {
    for (const replacement of RULES) {
      const tags = makeTags(8, 4, replacement);
      expect(hitsOf(tags, sweep(32, 1))).toBe(0);
      expect(hitsOf(tags, sweep(32, 5))).toBe(160);
    }
  });

  test('a cyclic sweep with every set one line over never hits an LRU cache', () => {
    expect(hitsOf(makeTags(8, 4, 'lru'), sweep(40, 20))).toBe(0);
  });

  test('a two-way tree is LRU', () => {
    const random = seedrandom.xor4096('ways');
    const trace = Array.from({ length: 3000 }, () => Math.floor(random() * random() * 60));
    expect(hitsOf(makeTags(4, 2, 'tree_plru'), trace)).toBe(hitsOf(makeTags(4, 2, 'lru'), trace));
  });

  test('line numbers up to 2^45 keep their sets and are told apart', () => {
    const tags = makeTags(64, 2, 'lru');
    const far = 2 ** 45 - 1;
    expect(tags.setOf(far)).toBe(63);
    expect(makeTags(48, 2, 'lru').setOf(far)).toBe(far % 48);
    access(tags, far);
    expect(tags.find(far)).toBeGreaterThanOrEqual(0);
    expect(tags.find(far - 64)).toBe(-1);
    expect(tags.find(63)).toBe(-1);
  });

  test('an emptied way is filled first, the lowest-numbered one', () => {
    const tags = makeTags(1, 4, 'lru');
    hitsOf(tags, [0, 1, 2, 3]);
    tags.invalidate(tags.find(2));
    tags.invalidate(tags.find(1));
    access(tags, 9);
    expect([...tags.lines]).toEqual([0, 9, -1, 3]);
  });

  test('a pinned line is no victim, and a set of pinned lines has none', () => {
    for (const replacement of RULES) {
      const tags = makeTags(1, 2, replacement);
      hitsOf(tags, [0, 1]);
      tags.pins[tags.find(0)]!++;
      expect(tags.lines[tags.choose(7)]).toBe(1);
      tags.pins[tags.find(1)]!++;
      expect(tags.choose(7)).toBe(-1);
    }
  });

  test('a random victim depends on set and eviction number alone', () => {
    const asked: [number, number][] = [];
    const rule = makeRule('random', 4, 4, (set, number) => {
      asked.push([set, number]);
      return 0.99;
    });
    const none = new Uint8Array(16);
    expect(rule.victim(2, none)).toBe(3);
    rule.evicted(2);
    rule.hit(2, 1);
    rule.victim(2, none);
    rule.victim(3, none);
    expect(asked).toEqual([
      [2, 0],
      [2, 1],
      [3, 0],
    ]);
  });

  test('sizes that are no whole number of sets are refused', () => {
    expect(() => makeTags(0.5, 3, 'lru')).toThrow('whole number of sets');
    expect(() => makeTags(4, 3, 'tree_plru')).toThrow('power of two');
  });

  test('the set of a line is what is left of it after division by the sets', () => {
    for (const sets of [1, 2, 3, 48, 64, 1024]) {
      const tags = makeTags(sets, 2, 'lru');
      for (const line of [0, 1, 47, 63, 64, 2 ** 30 - 1, 2 ** 30, 2 ** 30 + 5, 2 ** 32 + 77, 2 ** 45 - 1]) {
        expect(tags.setOf(line)).toBe(Number(BigInt(line) % BigInt(sets)));
      }
    }
  });

  test('a full set takes no way of the next one, and a pinned one has none', () => {
    const tags = makeTags(2, 2, 'lru');
    hitsOf(tags, [0, 2]);
    expect(tags.choose(4)).toBe(0);
    hitsOf(tags, [1, 3]);
    tags.pins.fill(1);
    expect([tags.choose(4), tags.choose(5)]).toEqual([-1, -1]);
  });

  test('a use counts for LRU, a look does not', () => {
    const tags = makeTags(2, 2, 'lru');
    hitsOf(tags, [1, 3]);
    tags.find(1);
    expect(tags.lines[tags.choose(5)]).toBe(1);
    tags.touch(tags.find(1));
    expect(tags.lines[tags.choose(5)]).toBe(3);
  });

  test('only what pushes a line out counts as an eviction', () => {
    const numbers: number[] = [];
    const tags = new TagStore({ bytes: 128, ways: 2, replacement: 'random' }, 64, (_, number) => {
      numbers.push(number);
      return 0;
    });
    hitsOf(tags, [0, 1, 2, 3]);
    tags.invalidate(0);
    hitsOf(tags, [4, 5]);
    expect(numbers).toEqual([0, 1, 2]);
  });

  test('lists what is in it', () => {
    const tags = makeTags(2, 2, 'lru');
    hitsOf(tags, [0, 1, 3]);
    tags.states[tags.find(3)] = LineState.modified;
    expect([...tags.entries()]).toEqual([
      { line: 0, state: LineState.exclusive },
      { line: 1, state: LineState.exclusive },
      { line: 3, state: LineState.modified },
    ]);
  });

  test('a cache of no set, or of a part of one, is refused', () => {
    for (const bytes of [0, 96, 192]) {
      expect(() => new TagStore({ bytes, ways: 2, replacement: 'lru' }, 64, () => 0)).toThrow('whole number of sets');
    }
  });
});
