import { describe, expect, test } from 'vitest';
import { CYCLE, LINE, Script, UnitBench } from './unit-bench.js';

// A hit takes 2 cycles; a miss 2, then 24 at the unit (see coherence-unit.test.ts).
const run = (
  lines: (number | [number, 'store'])[],
  options: { parallelism?: number; bytes?: number; hitCycles?: number } = {},
) => {
  const steps = lines.map((line) => (typeof line === 'number' ? { line } : { line: line[0], write: true }));
  const source = new Script(steps.map((step) => ({ ...step, bytes: options.bytes ?? 8 })));
  return new UnitBench({ cores: [{ name: 'c0', source, ...options }] }).run();
};
const times = (bed: UnitBench) =>
  bed.log.accesses.map(({ address, wantedPs, donePs }) => [address / LINE, wantedPs / CYCLE, donePs / CYCLE]);

describe('a core', () => {
  test('does one lookup after the other, and goes on while lines are fetched', () => {
    expect(times(run([0, 1, 0, 1]))).toEqual([
      [0, 0, 26],
      // 0 again joins the fetch, and is done with it
      [0, 4, 26],
      // line 1 is looked up at the unit 2 cycles later; its beats leave memory behind those of line 0: 2 cycles more
      [1, 2, 30],
      [1, 6, 30],
    ]);
  });

  test('stalls at an access that finds no place to wait in, and tries it again when a line is in', () => {
    // one place: line 1 is held up until 26, and then leaves at once
    expect(times(run([0, 1], { parallelism: 1 }))).toEqual([
      [0, 0, 26],
      [1, 2, 50],
    ]);
  });

  test('goes on hitting while the only place is taken', () => {
    const bed = run([0, 1, 2, 0, 1], { parallelism: 1 });
    // line 2 waits from 28 on for the place that line 1 has until 50; behind it lines 0 and 1 hit, two cycles each
    expect(times(bed)).toEqual([
      [0, 0, 26],
      [1, 2, 50],
      [0, 50, 52],
      [1, 52, 54],
      [2, 26, 74],
    ]);
  });

  test('counts lookups as hits, misses and merges, and each access as a burst', () => {
    const bed = run([0, 0, 1, [0, 'store'], 2, 2]);
    expect(bed.cores[0]!.counts.of(0)).toMatchObject({ lookups: 6, hits: 1, misses: 3, merged: 2 });
    expect(bed.log.accesses).toHaveLength(6);
    expect(bed.context.tally).toEqual({ counted: 0, issuedBursts: 6 + 3, completedBursts: 6 + 3 });
  });

  test('cuts an access at the ends of lines', () => {
    const bed = run([0], { bytes: 200 });
    expect(times(bed)).toEqual([
      [0, 0, 26],
      [1, 0, 30],
      [2, 0, 34],
      [3, 0, 38],
    ]);
    expect(bed.cores[0]!.reads.movedBytes).toBe(200);
    expect(bed.cores[0]!.reads.wantedBytes).toBe(200);
  });

  test('a store that finds its line on the way in for a load waits, and then hits', () => {
    const bed = run([0, [0, 'store'], 0]);
    expect(times(bed)).toEqual([
      [0, 0, 26],
      [0, 2, 26],
      [0, 26, 28],
    ]);
    expect(bed.unit.counts.of(0).lookups).toBe(1);
  });

  test('hits of a working set that fits cost no event each', () => {
    const bed = run(Array.from({ length: 10_000 }, (_, k) => k % 4));
    expect(bed.cores[0]!.counts.of(0)).toMatchObject({ misses: 4 });
    expect(bed.context.calendar.handled).toBeLessThan(100);
    expect(bed.log.accesses).toHaveLength(10_000);
  });

  test('a snoop ends the hits that run ahead', () => {
    const source = new Script(Array.from({ length: 1000 }, () => ({ line: 0 })));
    const bed = new UnitBench({ ports: ['a'], cores: [{ name: 'c0', source }] });
    bed.port('a').write(500, 0);
    bed.run();
    // hits at 28, 30 ... 500; the lookup of 500 takes the line away, so that the access of 502 must fetch it
    const done = bed.log.accesses.filter(({ master }) => master === 0).map(({ donePs }) => donePs / CYCLE);
    expect(bed.cores[0]!.counts.of(0).misses).toBe(2);
    expect(done.filter((at) => at >= 498 && at < 513)).toEqual([498, 500]);
    // the write is in the data array until 513, the line's last beat leaves 7 later: with it are done the fetch, the three
    // that found a place to join it, and the one that was held up, which hits
    expect(done.filter((at) => at > 500 && at <= 520)).toEqual([520, 520, 520, 520, 520]);
  });

  test('a cyclic sweep over one line more than the ways of its set never hits', () => {
    // two sets of two ways: lines 0, 2, 4 share a set
    const bed = run(Array.from({ length: 60 }, (_, k) => 2 * (k % 3)));
    expect(bed.cores[0]!.counts.of(0).hits).toBe(0);
  });

  test('a dependent source wants its next access a think time after the last was done', () => {
    const source = new Script([0, 0, 1].map((line) => ({ line, think: 7 * CYCLE })));
    const bed = new UnitBench({ cores: [{ name: 'c0', source, process: 'dependent' }] }).run();
    expect(times(bed)).toEqual([
      [0, 0, 26],
      [0, 33, 35],
      [1, 42, 68],
    ]);
  });

  test('an open source wants at its own times, however late the core runs', () => {
    const source = new Script([0, 4, 8, 12].map((line, k) => ({ line, at: k * 5 * CYCLE })));
    const bed = new UnitBench({ cores: [{ name: 'c0', source, process: 'trace', parallelism: 1 }] }).run();
    expect(times(bed)).toEqual([
      [0, 0, 26],
      [4, 5, 50],
      [8, 10, 74],
      [12, 15, 98],
    ]);
    // wanted at 5, 10 and 15 and begun at 26, 50 and 74: 8 bytes each for 21, 40 and 59 cycles, and 2 for the first
    expect(bed.cores[0]!.reads.backlogMeter.areaPs).toBe(8 * (2 + 21 + 40 + 59) * CYCLE);
  });

  test('what was wanted and is not done is told at any time', () => {
    const source = new Script([0, 4, 8, 12].map((line, k) => ({ line, at: k * 5 * CYCLE, bytes: 100 })));
    const bed = new UnitBench({ cores: [{ name: 'c0', source, process: 'trace', parallelism: 1 }] }).run(40);
    // two lines each; the first line is in at 26, the second one is on its way
    expect(bed.cores[0]!.reads.unfinished().bursts.length).toBe(7);
    expect(bed.cores[0]!.writes.unfinished().bursts.length).toBe(0);
    expect(bed.context.tally.counted).toBe(4);
    bed.run();
    expect(bed.cores[0]!.reads.unfinished().bursts.length).toBe(0);
  });
});
