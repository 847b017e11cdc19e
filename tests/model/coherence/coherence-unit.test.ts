import { describe, expect, test } from 'vitest';
import { LineState } from '../../../src/model/coherence/tag-store.js';
import { CYCLE, LINE, Script, UnitBench, unitSpec } from './unit-bench.js';

// Cycles in the bench: lookup 4, L2 data 3, intervention 9, upgrade 5, fill 2, one beat of 16 bytes a cycle, 1 back.
// Memory's first beat comes 10 cycles after the request, its last 3 later; the fill is in after 1 more on the way back.
//   hit at e:   first beat e+4+3 = e+7, last e+10, there at e+11
//   miss at e:  request e+4, last beat e+17, fill in at e+18, first beat e+20, last e+23, there at e+24
//   write at e: data array e+4 to e+8, response there at e+9
const HIT = 11;
const MISS = 24;

const lines = (...all: number[]) => all.map((line) => line * LINE);

describe('reads', () => {
  test('a miss costs the memory and the fill, a hit after it the data array', () => {
    const bed = new UnitBench({ ports: ['a'] });
    bed.port('a').read(0, 0).read(100, 0);
    expect(bed.run().trace()).toEqual([
      ['a', 'read', 0, MISS],
      ['a', 'read', 0, 100 + HIT],
    ]);
    expect(bed.done.map(({ firstPs }) => firstPs / CYCLE)).toEqual([21, 108]);
    expect(bed.unit.counts.of(0)).toMatchObject({ lookups: 2, hits: 1, misses: 1, merged: 0 });
  });

  test('a burst is looked up a line a cycle, and its lines share the data array', () => {
    const bed = new UnitBench({ ports: ['a'] });
    bed.port('a').read(0, 0, 256).read(100, 0, 256);
    bed.run();
    // misses at 0 to 3, beats 20 to 23, 24 to 27 ... limited by the lane: 16 beats from 20 on
    expect(bed.done[0]).toMatchObject({ firstPs: 21 * CYCLE, lastPs: 36 * CYCLE });
    // hits: data array 104 to 120, first beat at 107
    expect(bed.done[1]).toMatchObject({ firstPs: 108 * CYCLE, lastPs: 123 * CYCLE });
  });

  test('beats return in address order: a hit behind a miss of the same burst waits for it', () => {
    const bed = new UnitBench({ ports: ['a'] });
    bed
      .port('a')
      .read(0, LINE)
      .read(100, 0, 2 * LINE);
    bed.run();
    expect(bed.done[1]).toMatchObject({ firstPs: 121 * CYCLE, lastPs: 128 * CYCLE });
  });

  test('a part of a line returns only its beats', () => {
    const bed = new UnitBench({ ports: ['a'] });
    bed.port('a').read(0, 0).read(100, 24, 16);
    bed.run();
    // bytes 24 to 40 lie in two beats
    expect(bed.done[1]).toMatchObject({ firstPs: 108 * CYCLE, lastPs: 109 * CYCLE });
  });

  test('two requesters of one cycle are looked up one after the other', () => {
    const bed = new UnitBench({ ports: ['a', 'b'] });
    bed.port('a').read(0, 0).read(100, 0);
    bed
      .port('b')
      .read(0, 5 * LINE)
      .read(100, 5 * LINE);
    bed.run();
    expect(bed.trace().slice(2)).toEqual([
      ['a', 'read', 0, 100 + HIT],
      // looked up at 101, but the data array is taken until 108
      ['b', 'read', 5, 100 + HIT + 4],
    ]);
  });

  test('a line in flight has one fetch; later reads join it and are counted as merged', () => {
    const bed = new UnitBench({ ports: ['a', 'b', 'c'] });
    bed.port('a').read(0, 0);
    bed.port('b').read(5, 0);
    bed.port('c').read(17, 0, 16);
    expect(bed.run().trace()).toEqual([
      // the line is in before its own lookup has ended, which it is not answered before
      ['c', 'read', 0, 22],
      ['a', 'read', 0, MISS],
      ['b', 'read', 0, MISS],
    ]);
    expect(bed.memory.log).toHaveLength(1);
    expect([0, 1, 2].map((master) => bed.unit.counts.of(master).merged)).toEqual([0, 1, 1]);
  });

  test('a buffer that fits is all hits after its first pass', () => {
    const bed = new UnitBench({ ports: ['a'] });
    for (let k = 0; k < 64; k++) bed.port('a').read(k * 30, (k % 16) * LINE);
    bed.run();
    expect(bed.unit.counts.of(0)).toMatchObject({ lookups: 64, hits: 48, misses: 16, evictions: 0 });
  });

  test('a cyclic sweep with every set one line over never hits an LRU cache', () => {
    const bed = new UnitBench({ ports: ['a'] });
    for (let k = 0; k < 100; k++) bed.port('a').read(k * 30, (k % 20) * LINE);
    bed.run();
    expect(bed.unit.counts.of(0)).toMatchObject({ lookups: 100, hits: 0, evictions: 84 });
  });

  test('an L2 of twice the size moves the cliff to twice the buffer', () => {
    const share = (l2Lines: number, bufferLines: number): number => {
      const l2 = { ...unitSpec.l2, bytes: l2Lines * LINE };
      const bed = new UnitBench({ ports: ['a'], spec: { l2 } });
      for (let k = 0; k < 10 * bufferLines; k++) bed.port('a').read(k * 30, (k % bufferLines) * LINE);
      bed.run();
      return bed.unit.counts.of(0).hits / bed.unit.counts.of(0).lookups;
    };
    expect([16, 20, 32, 40].map((buffer) => share(16, buffer))).toEqual([0.9, 0, 0, 0]);
    expect([16, 20, 32, 40].map((buffer) => share(32, buffer))).toEqual([0.9, 0.9, 0.9, 0]);
  });

  test('without allocation there is no reuse, but what a core brought in still hits', () => {
    const bed = new UnitBench({
      ports: ['a'],
      cores: [{ name: 'c0', source: new Script([{ line: 3, at: 0 }]), process: 'trace' }],
      spec: { portReadAllocate: false },
    });
    bed
      .port('a')
      .read(100, 0)
      .read(200, 0)
      .read(300, 3 * LINE);
    bed.run();
    expect(bed.unit.counts.of(1)).toMatchObject({ hits: 1, misses: 2 });
  });

  test('a read that does not allocate hits as usual and does not move the line in the replacement order', () => {
    const evictedAfterReuse = (portReadAllocate: boolean): number[] => {
      const bed = new UnitBench({ ports: ['a', 'w'], spec: { portReadAllocate } });
      // lines 0, 4, 8, 12, 16 share a set of four ways; writes allocate
      for (const [k, line] of [0, 4, 8, 12].entries()) bed.port('w').write(k * 20, line * LINE);
      bed.port('a').read(100, 0);
      bed.port('w').write(200, 16 * LINE);
      bed.run();
      return bed.memory.log.filter(({ op }) => op === 'write').map(({ address }) => address);
    };
    expect(evictedAfterReuse(true)).toEqual(lines(4));
    expect(evictedAfterReuse(false)).toEqual(lines(0));
  });
});

describe('writes', () => {
  test('a whole line is dirty in L2 without a fetch', () => {
    const bed = new UnitBench({ ports: ['a'] });
    bed.port('a').write(0, 0).read(50, 0);
    expect(bed.run().trace()).toEqual([
      ['a', 'write', 0, 9],
      ['a', 'read', 0, 50 + HIT],
    ]);
    expect(bed.memory.log).toEqual([]);
    expect(bed.unit.model.isDirty(0)).toBe(true);
  });

  test('a part of a line merges on a hit', () => {
    const bed = new UnitBench({ ports: ['a'] });
    bed.port('a').read(0, 0).write(50, 16, 32);
    bed.run();
    // two beats through the data array: 54 to 56, response a cycle later
    expect(bed.trace()[1]).toEqual(['a', 'write', 0.25, 57]);
    expect(bed.unit.model.isDirty(0)).toBe(true);
  });

  test('a part of a missing line fetches and merges, or goes through, by setting', () => {
    const fetch = new UnitBench({ ports: ['a'] });
    fetch.port('a').write(0, 16, 32);
    // fill in at 18, merged at 20
    expect(fetch.run().trace()).toEqual([['a', 'write', 0.25, 21]]);
    expect(fetch.memory.log).toMatchObject([{ op: 'read', address: 0, bytes: 64 }]);
    expect(fetch.unit.model.isDirty(0)).toBe(true);

    const through = new UnitBench({ ports: ['a'], spec: { partialWriteMiss: 'through' } });
    through.port('a').write(0, 16, 32);
    // leaves at 4, accepted by memory at 14, known at 15
    expect(through.run().trace()).toEqual([['a', 'write', 0.25, 16]]);
    expect(through.memory.log).toMatchObject([{ op: 'write', address: 16, bytes: 32 }]);
    expect(through.unit.model.isCached(0)).toBe(false);
  });

  test('a write that does not allocate goes through on a miss, and stays in L2 on a hit', () => {
    const bed = new UnitBench({ ports: ['a'], spec: { portWriteAllocate: false } });
    bed.port('a').write(0, 0).read(50, LINE).write(100, LINE);
    bed.run();
    expect(bed.memory.log.filter(({ op }) => op === 'write')).toMatchObject([{ address: 0, bytes: 64 }]);
    expect(bed.unit.model.isDirty(1)).toBe(true);
  });

  test('a write to a line in flight is merged, and looked up again after the fill', () => {
    const bed = new UnitBench({ ports: ['a', 'b'] });
    bed.port('a').read(0, 0);
    bed.port('b').write(5, 0, 16);
    bed.run();
    expect(bed.memory.log).toHaveLength(1);
    // the fill is in at 18: looked up then, data array 22 to 23, response at 24
    expect(bed.trace()).toContainEqual(['b', 'write', 0, 24]);
    expect(bed.unit.counts.of(1)).toMatchObject({ lookups: 1, merged: 1, hits: 0 });
    expect(bed.unit.model.isDirty(0)).toBe(true);
  });
});

describe('miss entries', () => {
  test('a miss without an entry blocks only its requester, and a guaranteed entry is kept for the others', () => {
    const bed = new UnitBench({ ports: ['a', 'b'], spec: { missEntries: 3, minMissEntries: 1 } });
    bed.port('b').read(0, 9 * LINE);
    for (let k = 0; k < 4; k++) bed.port('a').read(100, k * LINE);
    bed
      .port('b')
      .read(104, 9 * LINE)
      .read(105, 10 * LINE);
    bed.run();
    const at = Object.fromEntries(bed.trace().map(([, , line, cycle]) => [line, cycle]));
    // two of the three entries for a; its third miss waits for the first fill, at 118
    expect(at).toMatchObject({ 0: 124, 1: 128, 2: 142, 3: 146 });
    // meanwhile b hits, and misses with the entry that is kept for it: its line leaves memory behind the two of a, whose
    // beats go from 114 to 121, so it is in at 126 and the first beat follows at 128
    expect(bed.trace()).toContainEqual(['b', 'read', 9, 104 + HIT]);
    expect(at[10]).toBe(132);
  });
});

describe('write-backs', () => {
  const dirtySet = (options: ConstructorParameters<typeof UnitBench>[0]): UnitBench => {
    const bed = new UnitBench({ ports: ['a', 'b'], ...options });
    for (const [k, line] of [0, 4, 8, 12].entries()) bed.port('a').write(k * 20, line * LINE);
    return bed;
  };

  test('an evicted dirty line goes to memory, on behalf of whoever evicted it', () => {
    const bed = dirtySet({});
    bed.port('b').read(100, 16 * LINE);
    bed.run();
    expect(bed.memory.log.filter(({ op }) => op === 'write')).toMatchObject([{ address: 0, bytes: 64, master: 1 }]);
    expect(bed.unit.counts.of(1)).toMatchObject({ evictions: 1, writebacks: 1 });
    expect(bed.unit.counts.of(0)).toMatchObject({ evictions: 0, writebacks: 0 });
  });

  test('the buffer is bounded: a miss that would evict waits for a slot, hits go on', () => {
    const bed = dirtySet({ spec: { writebackSlots: 1 }, writeCycles: 50 });
    bed
      .port('b')
      .read(100, 16 * LINE)
      .read(101, 20 * LINE);
    bed.port('a').read(110, 12 * LINE);
    bed.run();
    // the write-back leaves at 104, is accepted at 154 and known at 155
    expect(bed.trace()).toContainEqual(['b', 'read', 20, 155 + MISS]);
    expect(bed.trace()).toContainEqual(['a', 'read', 12, 110 + HIT]);
    expect(bed.unit.buffer.meter.largest).toBe(1);
  });

  test('a read hits in the buffer, and the line is back in L2', () => {
    const bed = dirtySet({ writeCycles: 500 });
    bed
      .port('b')
      .read(100, 16 * LINE)
      .read(150, 0)
      .read(700, 0);
    bed.run();
    expect(bed.trace()).toContainEqual(['b', 'read', 0, 150 + HIT]);
    expect(bed.trace()).toContainEqual(['b', 'read', 0, 700 + HIT]);
    expect(bed.memory.log.filter(({ op }) => op === 'read')).toHaveLength(1);
  });

  test('a read of a line that is only in part in the buffer waits until memory has it', () => {
    const bed = new UnitBench({ ports: ['a'], spec: { partialWriteMiss: 'through' }, writeCycles: 50 });
    bed.port('a').write(0, 0, 16).read(10, 0);
    bed.run();
    expect(bed.trace()).toContainEqual(['a', 'read', 0, 55 + MISS]);
  });
});

describe('private caches', () => {
  // the first access of a core resolves at 2 and is looked up at the unit at 2
  const core = (name: string, ...steps: { write?: boolean; line: number; at: number }[]) => ({
    name,
    source: new Script(steps.map((step) => ({ ...step, at: step.at * CYCLE }))),
    process: 'trace' as const,
  });
  const stateIn = (bed: UnitBench, index: number, line: number): number => {
    const { tags } = bed.cores[index]!.cache;
    const place = tags.find(line);
    return place < 0 ? LineState.invalid : tags.states[place]!;
  };

  test('a read of a line that a core changed is served by the core: it keeps a shared copy, L2 has the data', () => {
    const bed = new UnitBench({ ports: ['a'], cores: [core('c0', { write: true, line: 0, at: 0 })] });
    bed.port('a').read(100, 0).read(200, 0);
    bed.run();
    // first beat at 100+4+9 = 113, last at 116, there at 117
    expect(bed.trace()).toEqual([
      ['a', 'read', 0, 117],
      ['a', 'read', 0, 200 + HIT],
    ]);
    expect(stateIn(bed, 0, 0)).toBe(LineState.shared);
    expect(bed.unit.model.isDirty(0)).toBe(true);
    expect(bed.unit.counts.of(1).interventions).toBe(1);
  });

  test('a lone reader has the line exclusively and writes it in silence; a second reader makes it shared', () => {
    const alone = new UnitBench({ cores: [core('c0', { line: 0, at: 0 }, { write: true, line: 0, at: 100 })] });
    alone.run();
    expect(alone.log.accesses.map(({ donePs }) => donePs / CYCLE)).toEqual([2 + MISS, 102]);
    expect(stateIn(alone, 0, 0)).toBe(LineState.modified);

    const two = new UnitBench({ cores: [core('c0', { line: 0, at: 0 }), core('c1', { line: 0, at: 100 })] });
    two.run();
    // asks the owner: 102+4+9, last beat 118, there at 119
    expect(two.log.accesses[1]!.donePs).toBe(119 * CYCLE);
    expect([stateIn(two, 0, 0), stateIn(two, 1, 0)]).toEqual([LineState.shared, LineState.shared]);
  });

  test('a store to a shared line asks for it alone: lookup and upgrade, one beat back, the others lose it', () => {
    const bed = new UnitBench({
      cores: [core('c0', { line: 0, at: 0 }, { write: true, line: 0, at: 200 }), core('c1', { line: 0, at: 100 })],
    });
    bed.run();
    // looked up at 202, 4+5 cycles, 1 back
    expect(bed.log.accesses.at(-1)).toMatchObject({ write: true, wantedPs: 200 * CYCLE, donePs: 212 * CYCLE });
    expect([stateIn(bed, 0, 0), stateIn(bed, 1, 0)]).toEqual([LineState.modified, LineState.invalid]);
  });

  test('two cores that both ask for a shared line alone get it one after the other', () => {
    const bed = new UnitBench({
      cores: [
        core('c0', { line: 0, at: 0 }, { write: true, line: 0, at: 200 }),
        core('c1', { line: 0, at: 100 }, { write: true, line: 0, at: 200 }),
      ],
    });
    bed.run();
    // c0 upgrades at 202 and has it at 212; c1, looked up then, takes it from c0: 212+4+9, last beat 228, there at 229
    expect(bed.log.accesses.slice(2).map(({ master, donePs }) => [master, donePs / CYCLE])).toEqual([
      [0, 212],
      [1, 229],
    ]);
    expect([stateIn(bed, 0, 0), stateIn(bed, 1, 0)]).toEqual([LineState.invalid, LineState.modified]);
  });

  test('a whole-line write invalidates the copies, for a snoop', () => {
    const bed = new UnitBench({ ports: ['a'], cores: [core('c0', { write: true, line: 0, at: 0 })] });
    bed.port('a').write(100, 0);
    bed.run();
    // 100+4+5, four beats, 1 back
    expect(bed.trace()).toEqual([['a', 'write', 0, 114]]);
    expect(stateIn(bed, 0, 0)).toBe(LineState.invalid);
    expect(bed.unit.counts.of(1).interventions).toBe(0);
  });

  test('a part-line write takes the changed line from its owner first', () => {
    const bed = new UnitBench({ ports: ['a'], cores: [core('c0', { write: true, line: 0, at: 0 })] });
    bed.port('a').write(100, 0, 16);
    bed.run();
    expect(bed.trace()).toEqual([['a', 'write', 0, 100 + 4 + 9 + 1 + 1]]);
    expect(bed.unit.counts.of(1).interventions).toBe(1);
  });

  test('an eviction from an inclusive L2 takes the copies with it, and their changed data to memory', () => {
    const bed = new UnitBench({ ports: ['a'], cores: [core('c0', { write: true, line: 0, at: 0 })] });
    for (const [k, line] of [4, 8, 12, 16].entries()) bed.port('a').read(100 + 40 * k, line * LINE);
    bed.run();
    expect(stateIn(bed, 0, 0)).toBe(LineState.invalid);
    expect(bed.memory.log.filter(({ op }) => op === 'write')).toMatchObject([{ address: 0, master: 1 }]);
  });

  test('a line that is not inclusive stays in the core, and its changed data lands in L2 when the core drops it', () => {
    const l2 = { ...unitSpec.l2, inclusive: false };
    const steps = [{ write: true, line: 0, at: 0 }, ...[2, 4].map((line, k) => ({ line, at: 500 + 100 * k }))];
    const bed = new UnitBench({ ports: ['a'], cores: [core('c0', ...steps)], spec: { l2 } });
    for (const [k, line] of [4, 8, 12, 16].entries()) bed.port('a').read(100 + 40 * k, line * LINE);
    bed.run(400);
    expect(bed.structural.l2.find(0)).toBe(-1);
    expect(stateIn(bed, 0, 0)).toBe(LineState.modified);
    bed.run();
    expect(stateIn(bed, 0, 0)).toBe(LineState.invalid);
    expect(bed.structural.l2.states[bed.structural.l2.find(0)]).toBe(LineState.modified);
    expect(bed.memory.log.filter(({ op }) => op === 'write')).toEqual([]);
  });

  test('a changed victim takes one cycle of the tag pipeline behind the fetch that pushed it out', () => {
    const bed = new UnitBench({
      ports: ['a'],
      cores: [core('c0', { write: true, line: 0, at: 0 }, { write: true, line: 2, at: 50 }, { line: 4, at: 100 })],
    });
    bed
      .port('a')
      .read(0, 9 * LINE)
      .read(103, 9 * LINE);
    bed.run();
    // the fetch at 102, the victim at 103, so the port's hit at 104; the victim's data is in the array from 107 to 111
    expect(bed.trace()[1]).toEqual(['a', 'read', 9, 111 + 3 + 4]);
    expect(bed.cores[0]!.counts.of(0)).toMatchObject({ evictions: 1, writebacks: 1 });
    expect(bed.unit.model.isDirty(0)).toBe(true);
  });
});

describe('statistical', () => {
  const ratio = (hitRatio: number, dirtyShare: number, more: string[] = []) => {
    const bed = new UnitBench({
      ports: ['a', ...more],
      hitRatio,
      spec: { model: 'statistical', dirtyShare },
      memoryBytes: 1 << 22,
    });
    for (let k = 0; k < 2000; k++) bed.port('a').read(k * 40, k * 16 * LINE);
    for (const name of more) for (let k = 0; k < 500; k++) bed.port(name).read(k * 70, k * 3 * LINE);
    bed.run();
    return bed;
  };

  test('lookups hit with the stated ratio, and misses write back with the dirty share', () => {
    const count = ratio(0.7, 0.4).unit.counts.of(0);
    // four standard errors
    expect(Math.abs(count.hits / 2000 - 0.7)).toBeLessThan(4 * Math.sqrt((0.7 * 0.3) / 2000));
    expect(count.evictions).toBe(count.misses);
    expect(Math.abs(count.writebacks / count.misses - 0.4)).toBeLessThan(4 * Math.sqrt((0.4 * 0.6) / count.misses));
  });

  test('ratios 1 and 0 are exact, and cost what a hit and a miss cost', () => {
    expect(
      ratio(1, 1)
        .trace()
        .every(([, , line, at]) => at === (line / 16) * 40 + HIT),
    ).toBe(true);
    expect(
      ratio(0, 0)
        .trace()
        .every(([, , line, at]) => at === (line / 16) * 40 + MISS),
    ).toBe(true);
  });

  test('another requester changes none of the draws', () => {
    const alone = ratio(0.5, 0.5);
    const beside = ratio(0.5, 0.5, ['b']);
    const written = (bed: UnitBench) =>
      bed.memory.log.filter(({ op, master }) => op === 'write' && master === 0).map(({ address }) => address);
    expect(beside.unit.counts.of(0)).toEqual(alone.unit.counts.of(0));
    expect(written(beside)).toEqual(written(alone));
  });

  test('a line written back lies in the buffer', () => {
    const addresses = ratio(0.5, 1)
      .memory.log.filter(({ op }) => op === 'write')
      .map(({ address }) => address);
    expect(addresses.every((address) => address % LINE === 0 && address < 1 << 22)).toBe(true);
    expect(new Set(addresses).size).toBeGreaterThan(900);
  });
});
