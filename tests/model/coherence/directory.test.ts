import { expect, test } from 'vitest';
import { randomStream } from '../../../src/engine/random.js';
import { Directory } from '../../../src/model/coherence/directory.js';

// Caches in one word of bits and in three; lines within the first records and beyond.
test.each([
  [1, 5],
  [32, 40],
  [70, 300],
])('of %i caches and %i lines knows what sets of holders know', (caches, lines) => {
  const draw = randomStream('directory', caches, 'cu', 'test');
  const below = (n: number): number => Math.floor(draw() * n);
  const directory = new Directory(caches);
  const holders = new Map<number, Set<number>>();
  const owners = new Map<number, number>();
  const [seen, expected]: [unknown[], unknown[]] = [[], []];
  for (let step = 0; step < 3000; step++) {
    const [line, cache, kind] = [below(lines), below(caches), below(8)];
    if (kind < 4) {
      directory.add(line, cache, kind < 2);
      holders.set(line, (holders.get(line) ?? new Set()).add(cache));
      owners.set(line, kind < 2 ? cache : -1);
    } else if (kind < 7) {
      const gone = kind < 6 ? cache : ([...(holders.get(line) ?? [])][0] ?? cache);
      directory.remove(line, gone);
      if (holders.get(line)?.delete(gone) === true && owners.get(line) === gone) owners.set(line, -1);
    } else {
      directory.share(line);
      owners.set(line, -1);
    }
    const other = below(caches);
    seen.push(
      directory.holders(line),
      directory.owner(line),
      directory.holds(line, other),
      directory.holds(line, cache),
    );
    const held = holders.get(line) ?? new Set();
    expected.push(held.size, owners.get(line) ?? -1, held.has(other), held.has(cache));
  }
  expect(seen).toEqual(expected);
  const held = [...holders].filter(([, caches]) => caches.size > 0).map(([line]) => line);
  expect([...directory.lines()].toSorted((a, b) => a - b)).toEqual(held.toSorted((a, b) => a - b));
});
