import { describe, expect, it } from 'vitest';
import { poolStudy } from '../../src/measure/tables/pool.js';
import type { LatencyRow } from '../../src/measure/tables/rows.js';
import type { Level } from '../../src/measure/path-record.js';
import { read } from '../scenario/reading.js';
import { studyNow } from '../study/study-now.js';

/** The pooled row of a scenario's only path. */
function rowOf(text: string, level: Level): LatencyRow {
  const { latency } = poolStudy(studyNow(read(text)));
  return latency.find((row) => row.replication === 'all' && row.level === level)!;
}

/** A core that stores 4 bytes every `every`, each of which takes 50 ns and blocks it: past its caches, or combined. */
const stores = (every: string, cached = 'no'): string => `platform: { preset: quad-core-fabric }
buffers: { valves: { memory: registers, size: 4 KiB, cached: ${cached} } }
masters:
  fire:
    core: yes
    buffer: valves
    size: 4 B
    operations: write
    addresses: { pattern: random, align: 4 B }
    issue: { process: poisson, every: ${every} }
run: { seed: 1, replications: 10, warmup: 10 us, duration: 100 us, drain: 1 us, journeys: off }
`;

/** Requests of two bursts, of which a slow device serves the later ones too late. */
const LATE = `platform: { devices: { slow: { service: 100 ns } } }
buffers: { box: { memory: slow, size: 4 KiB } }
masters:
  source:
    attach: slow
    clock: none
    width: 32 bit
    burst: 1 beats
    outstanding: 1
    operations: read
    size: 8 B
    buffer: box
    issue: { process: steady, every: 100 ns }
run: { seed: 1, replications: 1, warmup: 0 ns, duration: 2 us, drain: 0 ns, journeys: off }
`;

describe('a core that goes past its caches', () => {
  it('has what it keeps back in its backlog, and is overloaded where that grows', () => {
    const row = rowOf(stores('100 ns'), 'burst');
    expect(row.state).toBe('overloaded');
    // 4 bytes every 100 ns
    expect(row.offeredBytesPerS! / 40e6).toBeCloseTo(1, 1);
    expect(row.bytesPerS! / row.offeredBytesPerS!).toBeLessThan(0.75);
    // of the 1,100 that come by the end of the window, about 300 wait then
    expect(row.maxBacklogBytes).toBeGreaterThan(4 * 250);
    expect(row.maxBacklogBytes).toBeLessThan(4 * 450);
  });

  it('is steady where it keeps up, and wants no byte twice', () => {
    const row = rowOf(stores('1 us'), 'burst');
    expect(row.state).toBe('steady');
    expect(row.offeredBytesPerS! / row.bytesPerS!).toBeCloseTo(1, 1);
    expect(row.maxBacklogBytes).toBeLessThan(4 * 5);
  });

  it('combines stores without a backlog that stays', () => {
    const row = rowOf(stores('1 us', 'combine'), 'burst');
    expect(row.state).toBe('steady');
    expect(row.offeredBytesPerS! / row.bytesPerS!).toBeCloseTo(1, 1);
  });
});

describe('what had not come back', () => {
  it('counts by burst and by request', () => {
    // 20 requests of two bursts are wanted in 2 us, and one burst is done in each 100 ns: the first at 100 ns, the 20th
    // at the end, which is no longer looked at
    const [burst, transfer] = (['burst', 'transfer'] as const).map((level) => rowOf(LATE, level));
    expect([burst!.count, burst!.unfinished]).toEqual([19, 21]);
    expect([transfer!.count, transfer!.unfinished]).toEqual([9, 11]);
  });

  it('stands in the batch in which it was wanted, and is as old as it is', () => {
    const { placements } = studyNow(read(LATE));
    const [burst, , transfer] = placements[0]!.replications[0]!.paths[0]!.levels;
    // 20 batches of 100 ns, a request in each
    expect(transfer!.unfinishedByBatch).toEqual([...Array<number>(9).fill(0), ...Array<number>(11).fill(1)]);
    expect(burst!.unfinishedByBatch).toEqual([...Array<number>(9).fill(0), 1, ...Array<number>(10).fill(2)]);
    // the last was wanted within the last 100 ns of the window, at whose end the run ended
    expect(burst!.youngestUnfinishedPs).toBeGreaterThan(0);
    expect(burst!.youngestUnfinishedPs).toBeLessThan(100_000);
  });
});
