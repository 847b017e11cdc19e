import { describe, expect, it } from 'vitest';
import { randomStream, type RandomStream } from '../../src/engine/random.js';
import type { DistributionSpec, IssueSpec, MasterSpec } from '../../src/scenario/scenario.js';
import { makeArrivals } from '../../src/traffic/issue-process.js';
import { RequestSource } from '../../src/traffic/request-source.js';
import { BUFFER_BYTES, master, requestsOf, wanted, type Request } from './master-sample.js';
import { NORMAL_1E4 } from './statistics.js';

const fixed = (value: number): DistributionSpec => ({ kind: 'fixed', value });
const steady = (bytesPerS: number): IssueSpec => ({
  process: 'steady',
  pace: { kind: 'rate', bytesPerS },
  jitterPs: 0,
  offsetPs: 0,
});
const blocks = (blockBytes: number, jitterPs = 0) => ({
  process: 'periodic' as const,
  blockBytes,
  everyPs: 5_000_000,
  jitterPs,
  offsetPs: 0,
});

describe('steady arrivals', () => {
  it('at 3 bytes a nanosecond are exact to the picosecond after a million requests of any size', () => {
    const sizes: DistributionSpec[] = [fixed(64), fixed(1), { kind: 'uniform', low: 1, high: 200 }];
    for (const size of sizes) {
      const source = new RequestSource(master(steady(3e9), { size, ...LEAN }), BUFFER_BYTES, '1', 0);
      let passed = 0;
      let wrong = 0;
      for (let n = 0; n < 1_000_000; n++) {
        source.advance();
        // 1000/3 ps a byte; three times the time is whole, and no time falls on a half
        if (source.wantedPs !== Math.floor((passed * 2000 + 3) / 6)) wrong++;
        passed += source.bytes;
      }
      expect([wrong, source.index]).toEqual([0, 999_999]);
    }
  });

  it('by count are exact after a million requests, whatever their sizes', () => {
    const every: IssueSpec = { process: 'steady', pace: { kind: 'every', everyPs: 333 }, jitterPs: 0, offsetPs: 7 };
    const source = new RequestSource(master(every, LEAN), BUFFER_BYTES, '1', 0);
    for (let n = 0; n <= 1_000_000; n++) source.advance();
    expect(source.wantedPs).toBe(333_000_007);
  });
});

describe('periodic arrivals', () => {
  it('cover each block exactly, whatever the sizes drawn and the jitter, one block a period', () => {
    const sizes: DistributionSpec[] = [
      fixed(64),
      fixed(5000),
      { kind: 'exponential', mean: 90 },
      { kind: 'geometric', mean: 3, unit: 64 },
      { kind: 'table', values: [1, 999, 1001], weights: [5, 1, 1] },
    ];
    for (const size of sizes) {
      for (const jitterPs of [0, 4_999_999]) {
        const perTime = bytesByTime(requestsOf(master(blocks(1001, jitterPs), { size }), 5000));
        // the last block may be cut off by the end of the list
        const whole = [...perTime].slice(0, -1);
        expect(whole.length).toBeGreaterThan(2);
        expect(whole.every(([, bytes]) => bytes === 1001)).toBe(true);
        expect(whole.map(([at]) => Math.floor(at / 5_000_000))).toEqual(whole.map((_, block) => block));
      }
    }
  });
});

describe('on-off arrivals', () => {
  it('are on for the stated share of a long run, and of each start of a run (1e-4 each)', () => {
    const onPs = 2_000_000;
    const offPs = 6_000_000;
    const issue: IssueSpec = {
      process: 'on_off',
      pace: { kind: 'every', everyPs: 1000 },
      within: 'steady',
      on: fixed(onPs),
      off: fixed(offPs),
    };
    // one request a nanosecond while on: how many there are is the time spent on
    const cycles = 40;
    const spec = master({ ...issue }, { stopPs: cycles * (onPs + offPs), ...LEAN });
    expect(Math.abs(wanted(spec, 1_000_000).length / (cycles * 2000) - 1)).toBeLessThan(1e-3);
    // a run starts on with the share of time on: 1/4
    const runs = 2000;
    const starts = Array.from({ length: runs }, (_, replication) => wanted(spec, 1, '1', replication)[0]!);
    const startedOn = starts.filter((at) => at === 0).length;
    expect(Math.abs(startedOn - runs / 4) / Math.sqrt((runs * 3) / 16)).toBeLessThan(NORMAL_1E4);
    expect(Math.max(...starts)).toBeLessThanOrEqual(offPs);
  });

  it('have on and off periods of the stated means where they are drawn (1e-4)', () => {
    const issue: IssueSpec = {
      process: 'on_off',
      pace: { kind: 'every', everyPs: 1000 },
      within: 'steady',
      on: { kind: 'exponential', mean: 40_000 },
      off: { kind: 'exponential', mean: 60_000 },
    };
    const times = wanted(master(issue, LEAN), 200_000);
    // 200,000 ns on; a cycle is on for 40 ns on average, so its time off is that of about 5,000 exponentials. The
    // number of cycles and their lengths both vary: a deviation of √2 · 60 ns · √5000
    const offPs = times.at(-1)! - 200_000 * 1000;
    expect(Math.abs(offPs - 5000 * 60_000) / (60_000 * Math.sqrt(2 * 5000))).toBeLessThan(NORMAL_1E4);
  });
});

describe('makeArrivals', () => {
  it('draws an offset only where none is stated, and a delay only where there is jitter', () => {
    expect(streamsOf(steady(1e9))).toEqual([]);
    expect(streamsOf(blocks(64))).toEqual([]);
    expect(streamsOf({ ...blocks(64), offsetPs: null })).toEqual(['offset']);
    expect(streamsOf(blocks(64, 9))).toEqual(['jitter']);
  });

  it('has none for closed sources, traces and silent masters', () => {
    const issues: IssueSpec[] = [
      { process: 'greedy' },
      { process: 'dependent', think: fixed(1) },
      { process: 'trace', file: 't.csv', entries: [] },
      { process: 'silent' },
    ];
    for (const issue of issues) {
      expect(makeArrivals(master(issue), BUFFER_BYTES, () => () => 0)).toBeNull();
    }
  });
});

describe('a source', () => {
  const poisson: IssueSpec = { process: 'poisson', pace: { kind: 'every', everyPs: 1000 }, batch: fixed(1) };

  it('is the same for a composed and a decomposed name', () => {
    const composed = requestsOf(master(poisson, { name: 'caf\u00e9' }), 20);
    expect(requestsOf(master(poisson, { name: 'cafe\u0301' }), 20)).toEqual(composed);
  });

  it('refuses an empty seed', () => {
    expect(() => requestsOf(master(poisson), 1, '')).toThrow(/seed: must be a text/);
  });
});

/** A cheap pattern that draws nothing, for long runs. */
const LEAN = { readShare: 1, pattern: { pattern: 'sequential' } } as const satisfies Partial<MasterSpec>;

/** The purposes of the streams that the arrivals of a master draw from. */
function streamsOf(issue: IssueSpec): string[] {
  const asked: string[] = [];
  const stream = (purpose: string): RandomStream => {
    asked.push(purpose);
    return randomStream('1', 0, 'm', purpose);
  };
  makeArrivals(master(issue), BUFFER_BYTES, stream);
  return asked;
}

function bytesByTime(list: readonly Request[]): Map<number, number> {
  const sums = new Map<number, number>();
  for (const { wantedPs, bytes } of list) sums.set(wantedPs, (sums.get(wantedPs) ?? 0) + bytes);
  return sums;
}
