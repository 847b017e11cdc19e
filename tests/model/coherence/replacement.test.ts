import { describe, expect, test } from 'vitest';
import { randomStream } from '../../../src/engine/random.js';
import { makeRule, type ReplacementRule } from '../../../src/model/coherence/replacement.js';

/** One set, told in plain lists: which way goes if nothing is blocked. */
interface NaiveSet {
  used(way: number, filled: boolean): void;
  first(): number[];
}

/** Ways from the oldest on: of use, or of fill. */
function aged(ways: number, onHit: boolean): NaiveSet {
  let order = [...Array(ways).keys()];
  return {
    used(way, filled) {
      if (filled || onHit) order = [...order.filter((other) => other !== way), way];
    },
    first: () => order,
  };
}

/** The halves of a range, each time the one that was not used last. */
function halved(ways: number): NaiveSet {
  const pointsUp = new Map<string, boolean>();
  return {
    used(way) {
      for (let [low, size] = [0, ways]; size > 1; size /= 2) {
        const upper = way >= low + size / 2;
        pointsUp.set(`${low}+${size}`, !upper);
        if (upper) low += size / 2;
      }
    },
    first() {
      let low = 0;
      for (let size = ways; size > 1; size /= 2) if (pointsUp.get(`${low}+${size}`) === true) low += size / 2;
      return around(low, ways);
    },
  };
}

/** All ways from one on. */
function around(way: number, ways: number): number[] {
  return Array.from({ length: ways }, (_, i) => (way + i) % ways);
}

const SETS = 3;

describe.each([1, 2, 4, 8])('of %i ways', (ways) => {
  test.each(['lru', 'fifo', 'tree_plru'] as const)(
    '%s evicts what lists of the uses say, blocked ways apart',
    (kind) => {
      const draw = randomStream('replacement', ways, kind, 'test');
      const below = (n: number): number => Math.floor(draw() * n);
      const rule: ReplacementRule = makeRule(kind, SETS, ways, () => 0);
      const sets = Array.from({ length: SETS }, () =>
        kind === 'tree_plru' ? halved(ways) : aged(ways, kind === 'lru'),
      );
      const [victims, expected]: [number[], number[]] = [[], []];
      for (let step = 0; step < 300; step++) {
        const [set, way, filled] = [below(SETS), below(ways), draw() < 0.5];
        if (filled) rule.filled(set, way);
        else rule.hit(set, way);
        rule.evicted(set);
        sets[set]!.used(way, filled);
        const blocked = Uint8Array.from({ length: SETS * ways }, () => (draw() < 0.2 ? 1 + below(3) : 0));
        for (const [other, naive] of sets.entries()) {
          victims.push(rule.victim(other, blocked));
          expected.push(naive.first().find((candidate) => blocked[other * ways + candidate] === 0) ?? -1);
        }
      }
      expect(victims).toEqual(expected);
    },
  );

  test('random takes the way that the draw says, or the next that is free', () => {
    const free = new Uint8Array(SETS * ways);
    for (let way = 0; way < ways; way++) {
      const rule = makeRule('random', SETS, ways, () => (way + 0.5) / ways);
      expect(rule.victim(1, free)).toBe(way);
      const blocked = free.slice();
      blocked[ways + way] = 1;
      expect(rule.victim(1, blocked)).toBe(ways === 1 ? -1 : (way + 1) % ways);
    }
  });
});
