import { describe, expect, test } from 'vitest';
import { LineState } from '../../../src/model/coherence/tag-store.js';
import { core, doneBy, stateIn, stateInL2 } from './core-scripts.js';
import { LINE, UnitBench } from './unit-bench.js';

const { invalid, shared, exclusive, modified } = LineState;

// lookup 4, data 3, intervention 9, upgrade 5, four beats, one back; a miss is filled at 18 and done at 24
describe('a copy that is on its way to its core', () => {
  // the core's miss of 2 is granted at 20 and in at 26
  test.each<[string, 'read' | 'write', number]>([
    ['a write waits for it, and takes it', 'write', 26 + 4 + 5 + 4 + 1],
    ['a read waits for it, as it comes alone, and asks for it', 'read', 26 + 4 + 9 + 3 + 1],
  ])('%s', (_, op, at) => {
    const bed = new UnitBench({ ports: ['a'], cores: [core('c0', { line: 0, at: 0 })] });
    bed.port('a')[op](21, 0);
    expect(bed.run().trace()).toEqual([['a', op, 0, at]]);
    expect(stateIn(bed, 0, 0)).toBe(op === 'write' ? invalid : shared);
  });

  test('a read does not wait for one that comes beside another', () => {
    // core 1 asks core 0 at 102 and has the line at 119; the port is looked up at 110: data from 114 + 3 on
    const bed = new UnitBench({
      ports: ['a'],
      cores: [core('c0', { line: 0, at: 0 }), core('c1', { line: 0, at: 100 })],
    });
    bed.port('a').read(110, 0);
    expect(bed.run().trace()).toEqual([['a', 'read', 0, 121]]);
  });

  test.each<[string, boolean]>([
    ['a store of another core', false],
    ['an upgrade of another core', true],
  ])('%s waits for it', (_, upgrade) => {
    // core 1 shares line 0 from 100 on; core 2 asks for it at 202, and it is in at 213 (a hit in L2)
    const cores = [
      core('c0', ...(upgrade ? [{ line: 0, at: 0 }] : []), { write: true, line: 0, at: 203 }),
      core('c1', { line: 0, at: 100 }),
      core('c2', { line: 0, at: 200 }),
    ];
    const bed = new UnitBench({ cores }).run();
    if (upgrade) {
      // looked up at 213: 4 + 5, one back
      expect(doneBy(bed, 0).at(-1)).toBe(213 + 10);
    } else {
      // core 2 has asked core 1 (alone until then) and is done at 219; L2 has the data, the copies are snooped meanwhile
      expect(doneBy(bed, 2)).toEqual([219]);
      expect(doneBy(bed, 0)).toEqual([219 + 4 + 5 + 3 + 1]);
    }
    expect([stateIn(bed, 0, 0), stateIn(bed, 1, 0), stateIn(bed, 2, 0)]).toEqual([modified, invalid, invalid]);
  });
});

describe('those that wait for one line', () => {
  test('two cores have it beside each other, a core and a port do not share it', () => {
    const two = new UnitBench({ cores: [core('c0', { line: 0, at: 0 }), core('c1', { line: 0, at: 1 })] }).run();
    expect([stateIn(two, 0, 0), stateIn(two, 1, 0)]).toEqual([shared, shared]);
    expect(two.memory.log).toHaveLength(1);

    const one = new UnitBench({ ports: ['a'], cores: [core('c0', { line: 0, at: 0 })] });
    one.port('a').read(5, 0);
    one.run();
    expect([stateIn(one, 0, 0), doneBy(one, 0)]).toEqual([exclusive, [26]]);
    expect(one.memory.log).toHaveLength(1);
  });

  test('a core that joins a store has the line after it, and a store that joins a load', () => {
    const stored = new UnitBench({
      cores: [core('c0', { write: true, line: 0, at: 0 }), core('c1', { line: 0, at: 1 })],
    }).run();
    // core 0 has it at 26; core 1, looked up again then, asks it: 26 + 4 + 9, last beat 3 later, one back
    expect([doneBy(stored, 0), doneBy(stored, 1)]).toEqual([[26], [43]]);
    expect([stateIn(stored, 0, 0), stateIn(stored, 1, 0), stateInL2(stored, 0)]).toEqual([shared, shared, modified]);

    const loaded = new UnitBench({
      cores: [core('c0', { line: 0, at: 0 }), core('c1', { write: true, line: 0, at: 1 })],
    }).run();
    expect([doneBy(loaded, 0), doneBy(loaded, 1)]).toEqual([[26], [43]]);
    expect([stateIn(loaded, 0, 0), stateIn(loaded, 1, 0)]).toEqual([invalid, modified]);
  });

  test('a core cannot have a line from a fetch that does not allocate: it fetches it itself', () => {
    const bed = new UnitBench({
      ports: ['a', 'b'],
      cores: [core('c0', { line: 0, at: 5 })],
      spec: { portReadAllocate: false },
    });
    bed.port('a').read(0, 0);
    bed.port('b').read(6, 0);
    bed.run();
    // fill of the port's at 18; the core is looked up again then, and misses
    expect(doneBy(bed, 0)).toEqual([18 + 24]);
    expect(bed.trace().map(([port, , , at]) => [port, at])).toEqual([
      ['a', 24],
      ['b', 24],
    ]);
    expect(bed.memory.log).toHaveLength(2);
    expect(stateIn(bed, 0, 0)).toBe(exclusive);
  });
});

describe('the shared cache and its copies', () => {
  test('an upgrade is a use of the line', () => {
    const bed = new UnitBench({
      ports: ['a'],
      cores: [core('c0', { line: 0, at: 0 }, { write: true, line: 0, at: 400 }), core('c1', { line: 0, at: 100 })],
    });
    for (const [k, line] of [4, 8, 12].entries()) bed.port('a').read(200 + 40 * k, line * LINE);
    bed.port('a').read(500, 16 * LINE);
    bed.run();
    expect([bed.structural.l2.find(4), stateIn(bed, 0, 0)]).toEqual([-1, modified]);
  });

  test('a line that a core has changed is not pushed out while no write-back slot is free', () => {
    const bed = new UnitBench({
      ports: ['a'],
      cores: [core('c0', { write: true, line: 0, at: 0 })],
      spec: { writebackSlots: 1 },
      writeCycles: 200,
    });
    for (const [k, line] of [1, 5, 9, 13].entries()) bed.port('a').write(100 + 20 * k, line * LINE);
    for (const [k, line] of [4, 8, 12].entries()) bed.port('a').read(200 + 30 * k, line * LINE);
    // line 1 goes out at 304, is accepted at 504 and known to be at 505; line 16 would push out line 0
    bed
      .port('a')
      .read(300, 17 * LINE)
      .read(310, 16 * LINE);
    bed.run();
    expect(bed.trace().slice(-2)).toEqual([
      ['a', 'read', 17, 324],
      ['a', 'read', 16, 505 + 24],
    ]);
    expect(bed.memory.log.filter(({ op }) => op === 'write').map(({ address }) => address / LINE)).toEqual([1, 0]);
  });

  test('a line that a core has and not changed is pushed out without one', () => {
    const bed = new UnitBench({
      ports: ['a'],
      cores: [core('c0', { line: 0, at: 0 })],
      spec: { writebackSlots: 1 },
      writeCycles: 200,
    });
    for (const [k, line] of [1, 5, 9, 13].entries()) bed.port('a').write(100 + 20 * k, line * LINE);
    for (const [k, line] of [4, 8, 12].entries()) bed.port('a').read(200 + 30 * k, line * LINE);
    bed
      .port('a')
      .read(300, 17 * LINE)
      .read(310, 16 * LINE);
    bed.run();
    expect(bed.trace().at(-1)).toEqual(['a', 'read', 16, 310 + 24]);
    expect(stateIn(bed, 0, 0)).toBe(invalid);
  });

  test('what is cached, and what is changed, is told of each place that a line can be in', () => {
    const bed = new UnitBench({
      ports: ['a'],
      cores: [core('c0', { write: true, line: 2, at: 0 }), core('c1', { line: 7, at: 0 })],
    });
    bed.port('a').read(0, 0).write(0, LINE);
    bed.run();
    const facts = (line: number): boolean[] => [bed.unit.model.isCached(line), bed.unit.model.isDirty(line)];
    expect([0, 1, 2, 7, 3].map(facts)).toEqual([
      [true, false],
      [true, true],
      [true, true],
      [true, false],
      [false, false],
    ]);
  });

  test('a line that is still to come is not cached, one in the write-back buffer is changed', () => {
    const bed = new UnitBench({ ports: ['a'], writeCycles: 100 });
    for (const [k, line] of [0, 4, 8, 12].entries()) bed.port('a').write(k * 20, line * LINE);
    bed.port('a').read(100, 16 * LINE);
    bed.run(110);
    expect([bed.unit.model.isCached(16), bed.unit.model.isCached(0), bed.unit.model.isDirty(0)]).toEqual([
      false,
      false,
      true,
    ]);
  });
});
