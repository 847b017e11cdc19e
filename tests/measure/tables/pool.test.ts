import { describe, expect, it } from 'vitest';
import { Histogram, mergeAll } from '../../../src/measure/statistics/histogram.js';
import { poolStudy } from '../../../src/measure/tables/pool.js';
import { studyWarnings } from '../../../src/measure/results.js';
import { PathRecord } from '../../../src/measure/path-record.js';
import type { LatencyRow } from '../../../src/measure/tables/rows.js';
import { FACTS, WINDOW_PS, studySample } from '../study-sample.js';

const study = studySample(6, 2000);
const tables = poolStudy(study);
const replications = study.placements[0]!.replications;

describe('latency rows', () => {
  const camera = tables.latency.filter(({ master, level }) => master === 'camera' && level === 'port');
  const all = camera.at(-1)!;

  it('are one a replication in order, then the pooled one, for each level', () => {
    expect(camera.map(({ replication }) => replication)).toEqual([1, 2, 3, 4, 5, 6, 'all']);
    expect(tables.latency.length).toBe(2 * 3 * 7);
    expect(tables.latency.slice(0, 7).every(({ level }) => level === 'burst')).toBe(true);
  });

  it('pool the samples, not the percentiles', () => {
    const pooled = mergeAll(
      'x',
      replications.map(({ paths }) => Histogram.fromPlain(paths[0]!.levels[1]!.histogram)),
    );
    expect([all.count, all.meanPs, all.percentilesPs.p99, all.maxPs]).toEqual([
      12_000,
      pooled.meanPs,
      pooled.quantile(0.99),
      pooled.maxPs,
    ]);
    // exponential of 200 ns above 80 ns: p99 at 80 + 200·ln 100 = 1,001 ns; 12,000 samples leave ± 6 % at three sigma
    expect(Math.abs(all.percentilesPs.p99! / 1_001_034 - 1)).toBeLessThan(0.06);
  });

  it('leave what too few samples cannot tell empty, and say how long to run', () => {
    expect(all.percentilesPs.p99_9).not.toBeNull();
    expect(all.percentilesPs.p99_99).toBeNull();
    // 10/0.0001 = 100,000 samples, there are 12,000 in the window
    expect(all.notes).toContainEqual({
      subject: 'p99_99',
      reason: 'few_beyond',
      have: 12_000,
      need: 100_000,
      neededPs: Math.ceil((WINDOW_PS * 100_000) / 12_000),
    });
  });

  it('have intervals on the pooled row alone, around its mean and p99', () => {
    expect(camera[0]!.meanLowPs).toBeNull();
    expect(all.meanLowPs).toBeLessThan(all.meanPs!);
    expect(all.meanHighPs).toBeGreaterThan(all.meanPs!);
    expect(all.p99LowPs).toBeLessThanOrEqual(all.percentilesPs.p99!);
    expect(all.p99HighPs).toBeGreaterThanOrEqual(all.percentilesPs.p99!);
  });

  it('give bandwidth in bytes per second of all windows together', () => {
    // 2,000 × 64 bytes in 1 ms
    expect([camera[0]!.bytesPerS, all.bytesPerS, all.offeredBytesPerS]).toEqual([128e6, 128e6, 128e6]);
    expect([camera[0]!.bytes, all.bytes]).toEqual([128_000, 768_000]);
  });

  it('name a greedy path without completions starved, with nothing offered', () => {
    const dma = tables.latency.find(({ master, replication }) => master === 'dma' && replication === 'all')!;
    expect([dma.state, dma.offeredBytesPerS, dma.unfinished, dma.meanPs]).toEqual(['starved', null, 6, null]);
  });

  it('print deterministic where replications do not differ', () => {
    const same = {
      ...study,
      placements: [
        {
          placement: 'p',
          budgets: [],
          replications: replications.map((r) => ({ ...replications[0]!, replication: r.replication })),
        },
      ],
    };
    const row = poolStudy(same).latency[6]!;
    expect([row.meanLowPs, row.meanHighPs, row.p99LowPs, row.p99HighPs]).toEqual(
      Array.from({ length: 4 }, () => 'deterministic'),
    );
  });

  it('do not depend on the order in which replications finished', () => {
    const shuffled = {
      ...study,
      placements: [{ placement: 'fabric', budgets: [], replications: replications.toReversed() }],
    };
    expect(poolStudy(shuffled)).toEqual(tables);
  });

  it('are refused when a replication lacks a path', () => {
    const [first, ...rest] = replications;
    const broken = {
      ...study,
      placements: [{ placement: 'p', budgets: [], replications: [first!, { ...rest[0]!, paths: [] }] }],
    };
    expect(() => poolStudy(broken)).toThrow('replication 2 has no record of camera write');
  });
});

describe('distribution rows', () => {
  it('cover all samples, with a share that ends at 1', () => {
    const port = tables.distribution.filter(({ master, level }) => master === 'camera' && level === 'port');
    expect(port.reduce((sum, { count }) => sum + count, 0)).toBe(12_000);
    expect(port.at(-1)!.cumulativeShare).toBe(1);
    port.slice(1).forEach((row, i) => expect(row.lowPs).toBeGreaterThanOrEqual(port[i]!.highPs));
    expect(tables.distribution.every(({ replication }) => replication === 'all')).toBe(true);
  });

  it('are given for each replication when asked', () => {
    const rows = poolStudy(study, { distributionOfEach: true }).distribution;
    const third = rows.filter(({ replication, level }) => replication === 3 && level === 'burst');
    expect(third.reduce((sum, { count }) => sum + count, 0)).toBe(2000);
  });
});

describe('counter rows', () => {
  it('pool utilisation over windows and servers, queues by area, and keep the largest queue', () => {
    const rows = tables.resources.filter(({ element }) => element === 'fabric0');
    // busy 0.2 to 1.2 of six windows: 4.2/6
    expect(rows.at(-1)).toMatchObject({ utilisation: 0.7, meanQueue: 0.5, maxQueue: 6, grants: 60, stallShare: 0.1 });
    expect(rows[1]).toMatchObject({ replication: 2, utilisation: 0.4, maxQueue: 2 });
    expect(tables.resources.find(({ element }) => element === 'flash')!.utilisation).toBe(0.5);
  });

  it('take shares of rows from column accesses, of waste from beats, of time from the window', () => {
    expect(tables.memory.at(-1)).toMatchObject({
      replication: 'all',
      rowHitShare: 0.6,
      rowEmptyShare: 0.3,
      rowConflictShare: 0.1,
      refreshShare: 0.04,
      turnaroundShare: 0.02,
      wastedShare: 0.1,
      readBytesPerS: 3.5e9,
      writeBytesPerS: 5e8,
      columnAccesses: 60,
    });
  });

  it('give no hit share where nothing was looked up', () => {
    const camera = tables.cache.filter(({ master }) => master === 'camera').at(-1)!;
    expect([camera.hitShare, camera.staleReads]).toEqual([null, 18]);
    // hits 61 to 66 of 100 each
    expect(tables.cache.find(({ replication }) => replication === 'all')!.hitShare).toBe(381 / 600);
  });
});

it('a single replication is judged by its batches, long enough for the load of its route', () => {
  // 20 batches of 400 bursts, of 100 and 200 ps by turns; the busiest element of the route is busy for a half, so 400
  // are enough: 100/(1 - 0.5)². The other element, busy all the time, is not on the route.
  const record = new PathRecord(FACTS, { fromPs: 0, toPs: 8000, batched: true, keepAtMost: 0, limits: new Map() });
  for (let i = 0; i < 8000; i++) record.burst.of(i).record(Math.floor(i / 400) % 2 === 0 ? 100 : 200);
  const one = (busyPs: number): LatencyRow => {
    const [fabric, flash] = replications[0]!.elements;
    const elements = [
      { ...fabric!, busyPs },
      { ...flash!, busyPs: 16_000 },
    ];
    const only = { ...replications[0]!, windowPs: 8000, paths: [record.toPlain()], elements };
    return poolStudy({ ...study, placements: [{ placement: 'p', budgets: [], replications: [only] }] }).latency[1]!;
  };
  // half = t(19, .975)·√(20·2500/19)/√20 = 2.093024·51.2989/4.472136 = 24.0087
  expect(one(4000).meanLowPs).toBeCloseTo(150 - 24.0087, 3);
  expect(one(4000).replication).toBe('all');
  expect(one(4001).meanLowPs).toBeNull();
  expect(one(4001).notes).toContainEqual(expect.objectContaining({ subject: 'mean_ci95', reason: 'short_batches' }));
});

it('warnings are counted together', () => {
  expect(studyWarnings(study)).toEqual([
    { text: 'fabric0 is asked for 104 %', count: 1 },
    { text: 'camera read stale data in frame', count: 18 },
  ]);
});
