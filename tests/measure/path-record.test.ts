import { describe, expect, it } from 'vitest';
import { Histogram } from '../../src/measure/statistics/histogram.js';
import { PathRecord, type RecordSettings } from '../../src/measure/path-record.js';
import { FACTS } from './study-sample.js';

const SETTINGS: RecordSettings = { fromPs: 1000, toPs: 3000, batched: false, keepAtMost: 0, limits: new Map() };

describe('PathRecord', () => {
  it('keeps three levels, the bytes and the backlog', () => {
    const record = new PathRecord(FACTS, { ...SETTINGS, limits: new Map([['port', [50]]]) });
    record.burst.of(1000).record(70);
    record.port.of(1000).record(50);
    record.port.of(1000).record(51);
    record.transfer.leaveOpen(400, 2600);
    record.transfer.leaveOpen(300, 2700);
    record.bytes += 64;
    record.offeredBytes += 128;
    record.backlog.change(2500, 64);
    const plain = record.toPlain();
    expect(plain.levels.map(({ level, histogram }) => [level, histogram.count])).toEqual([
      ['burst', 1],
      ['port', 2],
      ['transfer', 0],
    ]);
    expect(plain.levels[1]!.histogram.within).toEqual([1]);
    expect([plain.levels[2]!.unfinished, plain.levels[2]!.youngestUnfinishedPs]).toEqual([2, 300]);
    expect([plain.bytes, plain.offeredBytes, plain.maxBacklogBytes]).toEqual([64, 128, 64]);
    expect(plain.backlogQuarters).toEqual([0, 0, 0, 64]);
  });

  it('leaves the offered bytes of a greedy source empty', () => {
    const record = new PathRecord({ ...FACTS, source: 'greedy' }, SETTINGS);
    record.offeredBytes += 128;
    expect(record.toPlain().offeredBytes).toBeNull();
  });

  it('cuts a single replication into 20 batches by the wanted instant', () => {
    // the window of 2,000 ps has batches of 100: 1000 and 1099 in the first, 1100 in the second, 2999 in the last
    const record = new PathRecord(FACTS, { ...SETTINGS, batched: true });
    for (const wanted of [1000, 1099, 1100, 2999]) record.burst.of(wanted).record(wanted);
    record.burst.leaveOpen(5, 1100);
    const { batches, histogram, unfinishedByBatch } = record.toPlain().levels[0]!;
    expect(batches.map(({ count }) => count)).toEqual([2, 1, ...Array.from({ length: 17 }, () => 0), 1]);
    expect([histogram.count, Histogram.fromPlain(histogram).total]).toEqual([4, 1000n + 1099n + 1100n + 2999n]);
    expect(unfinishedByBatch.slice(0, 3)).toEqual([0, 1, 0]);
  });

  it('survives a worker’s message', () => {
    const record = new PathRecord(FACTS, { ...SETTINGS, keepAtMost: 10 });
    record.burst.of(1000).record(70);
    const plain = record.toPlain();
    expect(structuredClone(plain)).toEqual(plain);
    expect([...plain.levels[0]!.histogram.kept!]).toEqual([70]);
  });
});
