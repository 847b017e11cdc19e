import { beforeEach, expect, test } from 'vitest';
import { StaleFinder } from '../../../src/model/coherence/stale-finder.js';
import { Window } from '../../../src/model/window.js';
import { LINE, Script, UnitBench } from './unit-bench.js';

// Line 0 is changed in a core, line 5 in L2, line 6 is clean in L2, line 7 nowhere. Master 1 is the port's.
let bed: UnitBench;
let finder: StaleFinder;

beforeEach(() => {
  const source = new Script([{ write: true, line: 0, at: 0 }]);
  bed = new UnitBench({ ports: ['a'], cores: [{ name: 'c0', source, process: 'trace' }] });
  bed
    .port('a')
    .write(0, 5 * LINE)
    .read(50, 6 * LINE);
  bed.run();
  finder = new StaleFinder(bed.context, bed.system, [bed.unit]);
});

test('a read past the caches of a line that is dirty in one is counted by line, per buffer and master', () => {
  finder.observe(1, false, 'mem', 0, 8);
  finder.observe(1, false, 'mem', 4 * LINE, 4 * LINE);
  expect(finder.counts()).toEqual([{ buffer: 'buffer', master: 'a-master', reads: 2, writes: 0 }]);
  expect(bed.unit.counts.of(1).staleReads).toBe(2);
});

test('a write under a cached line is counted, whether the copy is dirty or clean', () => {
  finder.observe(1, true, 'mem', 5 * LINE, 3 * LINE);
  expect(finder.counts()).toEqual([{ buffer: 'buffer', master: 'a-master', reads: 0, writes: 2 }]);
  expect(bed.unit.counts.of(1).staleReads).toBe(0);
});

test('reads of clean lines, accesses to lines that no cache has and to other memories are no finding', () => {
  finder.observe(1, false, 'mem', 6 * LINE, 2 * LINE);
  finder.observe(1, true, 'mem', 7 * LINE, 10 * LINE);
  finder.observe(1, true, 'elsewhere', 0, LINE);
  expect(finder.counts()).toEqual([]);
  expect(bed.context.warnings.size).toBe(0);
});

test('each finding becomes a warning that names master and buffer, counted by burst', () => {
  finder.observe(1, false, 'mem', 0, LINE);
  finder.observe(1, false, 'mem', 0, LINE);
  expect([...bed.context.warnings]).toEqual([
    [
      'a-master read lines that are dirty in a cache, in buffer buffer: a hand-over is missing, or the buffer must not be cached',
      2,
    ],
  ]);
});

test('a memory is watched if a buffer in it may be cached', () => {
  const [buffer] = bed.system.buffers;
  const buffers = [
    { ...buffer!, memory: 'mem', cached: 'no' as const },
    { ...buffer!, memory: 'both', cached: 'no' as const },
    { ...buffer!, memory: 'both', cached: 'yes' as const },
  ];
  const some = new StaleFinder(bed.context, { ...bed.system, buffers }, []);
  expect(['mem', 'both', 'other'].map((memory) => some.watches(memory))).toEqual([false, true, false]);
});

test('findings are told by the buffer that the access begins in, in order of buffer and then master', () => {
  const [buffer] = bed.system.buffers;
  const system = {
    ...bed.system,
    buffers: [
      { ...buffer!, name: 'z-low', baseBytes: 0, bytes: 5 * LINE },
      { ...buffer!, name: 'elsewhere', memory: 'other', baseBytes: 0, bytes: 100 * LINE },
      { ...buffer!, name: 'a-high', baseBytes: 5 * LINE, bytes: LINE },
    ],
  };
  const all = new StaleFinder(bed.context, system, [bed.unit]);
  for (const [master, line] of [
    [0, 0],
    [1, 0],
    [1, 5],
    [0, 5],
  ] as const) {
    all.observe(master, false, 'mem', line * LINE, LINE);
  }
  // line 6 is in no buffer, and cached: a write under it is found
  all.observe(1, true, 'mem', 6 * LINE, 8);
  expect(all.counts().map(({ buffer, master }) => [buffer, master])).toEqual([
    ['a-high', 'a-master'],
    ['a-high', 'c0'],
    [`mem at ${6 * LINE}`, 'a-master'],
    ['z-low', 'a-master'],
    ['z-low', 'c0'],
  ]);
});

test('an access that ends with a line does not touch the next one', () => {
  finder.observe(1, false, 'mem', 4 * LINE, LINE);
  expect(finder.counts()).toEqual([]);
});

test('outside the window a finding is a warning and no count', () => {
  const late = new StaleFinder({ ...bed.context, window: new Window(1e13, 2e13) }, bed.system, [bed.unit]);
  late.observe(1, false, 'mem', 0, 8);
  expect([late.counts(), bed.context.warnings.size]).toEqual([[], 1]);
});
