import { describe, expect, test } from 'vitest';
import type { CoherenceSpec } from '../../../src/scenario/scenario.js';
import { LineState } from '../../../src/model/coherence/tag-store.js';
import { core, doneBy, stateIn } from './core-scripts.js';
import { LINE, type Options, UnitBench } from './unit-bench.js';

function bench(hitRatio: number, spec: Partial<CoherenceSpec> = {}, more: Partial<Options> = {}): UnitBench {
  return new UnitBench({ ports: ['a', 'b'], hitRatio, spec: { model: 'statistical', ...spec }, ...more });
}

const writes = (bed: UnitBench) => bed.memory.log.filter(({ op }) => op === 'write');
const reads = (bed: UnitBench) => bed.memory.log.filter(({ op }) => op === 'read');

// cycles as in coherence-unit.test.ts: a hit 11, a miss 24, a write into the data array 5 and a beat each
describe('writes', () => {
  test.each<[string, hitRatio: number, spec: Partial<CoherenceSpec>, bytes: number, at: number]>([
    ['a line that hits', 1, {}, LINE, 4 + 4 + 1],
    ['a part that hits', 1, {}, 16, 4 + 1 + 1],
    ['a part that hits though misses go through', 1, { partialWriteMiss: 'through' }, 16, 4 + 1 + 1],
    ['a line that misses needs no data', 0, {}, LINE, 4 + 4 + 1],
    ['a line that misses, where parts go through', 0, { partialWriteMiss: 'through' }, LINE, 4 + 4 + 1],
    ['a part that misses is merged after the fill', 0, {}, 32, 21],
    ['a part that misses goes through', 0, { partialWriteMiss: 'through' }, 32, 16],
    ['a line that misses and does not allocate', 0, { portWriteAllocate: false }, LINE, 16],
    ['a part that misses and does not allocate', 0, { portWriteAllocate: false }, 32, 16],
  ])('%s', (what, hitRatio, spec, bytes, at) => {
    const bed = bench(hitRatio, { ...spec, dirtyShare: 1 });
    bed.port('a').write(0, 0, bytes);
    expect(bed.run().trace()).toEqual([['a', 'write', 0, at]]);
    const through = at === 16;
    const allocates = hitRatio === 0 && !through;
    expect(reads(bed)).toHaveLength(at === 21 ? 1 : 0);
    // what comes in pushes a changed line out; what goes through does not
    expect(writes(bed).map((write) => write.bytes)).toEqual(through ? [bytes] : allocates ? [LINE] : []);
    expect(bed.unit.counts.of(0)).toMatchObject({ evictions: allocates ? 1 : 0, writebacks: allocates ? 1 : 0 });
    expect([bed.unit.model.isDirty(0), bed.unit.model.isCached(0)], what).toEqual([false, false]);
  });
});

describe('misses', () => {
  test('push out nothing where they do not allocate, and nothing changed at a share of 0', () => {
    const not = bench(0, { portReadAllocate: false, dirtyShare: 1 });
    not.port('a').read(0, 0);
    expect(not.run().unit.counts.of(0)).toMatchObject({ misses: 1, evictions: 0, writebacks: 0 });
    const clean = bench(0, { dirtyShare: 0 });
    clean.port('a').read(0, 0);
    expect(clean.run().unit.counts.of(0)).toMatchObject({ misses: 1, evictions: 1, writebacks: 0 });
  });

  test('to a line in flight join its fetch, a read and a write alike', () => {
    const bed = bench(0);
    bed.port('a').read(0, 0);
    bed.port('b').read(5, 0).write(6, 0, 16);
    // fill at 18; beats from 20 on, the write is merged at 20 and answered a cycle later
    const back = bed
      .run()
      .trace()
      .map(([port, op, , at]) => `${port} ${op} ${at}`);
    expect(back.toSorted((one, other) => (one < other ? -1 : 1))).toEqual(['a read 24', 'b read 24', 'b write 21']);
    expect(reads(bed)).toHaveLength(1);
    expect(bed.unit.counts.of(1)).toMatchObject({ merged: 2, misses: 0 });
  });

  test('wait for a miss entry, and hits of others do not', () => {
    const bed = bench(0, { missEntries: 1 });
    bed
      .port('a')
      .read(0, 0)
      .read(1, 9 * LINE);
    expect(bed.run().trace()).toEqual([
      ['a', 'read', 0, 24],
      ['a', 'read', 9, 18 + 24],
    ]);
  });

  test('wait for a write-back slot where they would push out a changed line', () => {
    const bed = bench(0, { writebackSlots: 1, dirtyShare: 1 }, { writeCycles: 50 });
    bed
      .port('a')
      .read(0, 0)
      .read(1, 9 * LINE);
    // the slot is taken at 0, the data accepted at 54 and known to be at 55
    expect(bed.run().trace()).toEqual([
      ['a', 'read', 0, 24],
      ['a', 'read', 9, 55 + 24],
    ]);
  });

  test('whose writes go through wait for a slot too', () => {
    const bed = bench(0, { writebackSlots: 1, portWriteAllocate: false }, { writeCycles: 50 });
    bed
      .port('a')
      .write(0, 0)
      .write(1, 9 * LINE);
    // 4 to memory, 50 there, one back to the unit, one to the port
    expect(bed.run().trace()).toEqual([
      ['a', 'write', 0, 56],
      ['a', 'write', 9, 55 + 56],
    ]);
  });
});

describe('cores', () => {
  test.each<[string, write: boolean, hitRatio: number, at: number, state: number]>([
    ['a load that hits in L2', false, 1, 2 + 11, LineState.exclusive],
    ['a store that hits in L2', true, 1, 2 + 11, LineState.modified],
    ['a load that misses', false, 0, 2 + 24, LineState.exclusive],
    ['a store that misses', true, 0, 2 + 24, LineState.modified],
  ])('%s has its line alone', (_, write, hitRatio, at, state) => {
    const bed = bench(hitRatio, {}, { cores: [core('c0', { write, line: 0, at: 0 })] }).run();
    expect([doneBy(bed, 0), stateIn(bed, 0, 0)]).toEqual([[at], state]);
  });

  test('a changed line that a core pushes out takes the data array, an unchanged one does not', () => {
    for (const write of [true, false]) {
      // lines 0, 2 and 4 share a set of two ways in the core
      const steps = [{ write, line: 0, at: 0 }, ...[2, 4].map((line, k) => ({ line, at: 100 + 100 * k }))];
      const bed = bench(1, {}, { cores: [core('c0', ...steps)] });
      bed.port('a').read(203, 9 * LINE);
      bed.run();
      // the fetch of line 4 at 202: data 206 to 210; the victim at 203, data 210 to 214; then the port's
      expect(bed.trace()[0]![3]).toBe(write ? 204 - 204 + 214 + 3 + 3 + 1 : 210 + 3 + 3 + 1);
    }
  });
});
