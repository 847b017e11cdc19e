import { describe, expect, test } from 'vitest';
import { LineState } from '../../../src/model/coherence/tag-store.js';
import { core, doneBy, stateIn, stateInL2 } from './core-scripts.js';
import { LINE, UnitBench, unitSpec } from './unit-bench.js';

const { invalid, shared, exclusive, modified } = LineState;

/** Core 0 has line 0, changed or not, and L2, which is not inclusive, has lost it by cycle 400; core 1 does one access. */
function bench(changed: boolean, portReadAllocate: boolean, second: 'load' | 'store' | null = null): UnitBench {
  const cores = [core('c0', { write: changed, line: 0, at: 0 })];
  if (second !== null) cores.push(core('c1', { write: second === 'store', line: 0, at: 400 }));
  const l2 = { ...unitSpec.l2, inclusive: false };
  const bed = new UnitBench({ ports: ['a', 'b'], cores, spec: { l2, portReadAllocate } });
  // writes allocate whatever the setting for reads: four lines fill the set of line 0
  for (const [k, line] of [4, 8, 12, 16].entries()) bed.port('b').write(100 + 40 * k, line * LINE);
  return bed;
}

// lookup 4, intervention 9, upgrade 5, four beats, one back: see coherence-unit.test.ts
describe('a line that only a core has', () => {
  test.each<[string, changed: boolean, allocate: boolean, inCore: number, inL2: number]>([
    ['changed, allocating', true, true, shared, modified],
    ['changed, not allocating: the data must stay somewhere', true, false, shared, modified],
    ['unchanged, allocating', false, true, shared, exclusive],
    ['unchanged, not allocating', false, false, shared, invalid],
  ])('is read by a port from the core: %s', (_, changed, allocate, inCore, inL2) => {
    const bed = bench(changed, allocate);
    bed.port('a').read(400, 0);
    bed.run();
    expect(bed.done.at(-1)!.lastPs / 1000).toBe(400 + 4 + 9 + 3 + 1);
    expect([stateIn(bed, 0, 0), stateInL2(bed, 0)]).toEqual([inCore, inL2]);
    expect(bed.unit.counts.of(1)).toMatchObject({ hits: 1, misses: 0, interventions: 1 });
  });

  test.each<[string, changed: boolean, bytes: number, at: number, asked: number]>([
    ['of the whole line, changed: no data is asked for, but the copy goes', true, LINE, 4 + 5 + 4 + 1, 0],
    ['of the whole line, unchanged', false, LINE, 4 + 5 + 4 + 1, 0],
    ['of a part, changed: the core has the rest', true, 16, 4 + 9 + 1 + 1, 1],
    ['of a part, unchanged: memory has the rest, and the copy goes', false, 16, 21, 0],
  ])('is written by a port: %s', (_, changed, bytes, at, asked) => {
    const bed = bench(changed, true);
    bed.port('a').write(400, 0, bytes);
    bed.run();
    expect(bed.done.at(-1)!.lastPs / 1000).toBe(400 + at);
    expect([stateIn(bed, 0, 0), stateInL2(bed, 0)]).toEqual([invalid, modified]);
    expect(bed.unit.counts.of(1).interventions).toBe(asked);
    expect(bed.structural.directory.holders(0)).toBe(0);
  });

  test.each<[string, changed: boolean, inL2: number]>([
    ['changed', true, modified],
    ['unchanged', false, exclusive],
  ])('is loaded by another core: %s', (_, changed, inL2) => {
    const bed = bench(changed, true, 'load').run();
    expect(doneBy(bed, 1)).toEqual([402 + 4 + 9 + 3 + 1]);
    expect([stateIn(bed, 0, 0), stateIn(bed, 1, 0), stateInL2(bed, 0)]).toEqual([shared, shared, inL2]);
  });

  test.each([true, false])(
    'is stored to by another core, which takes it and leaves L2 without (changed: %s)',
    (changed) => {
      const bed = bench(changed, true, 'store').run();
      expect(doneBy(bed, 1)).toEqual([402 + 4 + 9 + 3 + 1]);
      expect([stateIn(bed, 0, 0), stateIn(bed, 1, 0), stateInL2(bed, 0)]).toEqual([invalid, modified, invalid]);
    },
  );
});
