import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { randomStream } from '../../src/engine/random.js';
import type { DistributionSpec, IssueSpec, MasterSpec, PaceSpec, TraceEntry } from '../../src/scenario/scenario.js';
import { RequestSource } from '../../src/traffic/request-source.js';
import { BUFFER_BYTES, master, requests, requestsOf, wanted, type Request } from './master-sample.js';
import { kolmogorov, KOLMOGOROV_1E4, NORMAL_1E4 } from './statistics.js';

const fixed = (value: number): DistributionSpec => ({ kind: 'fixed', value });
const ONE = fixed(1);
const RATE: PaceSpec = { kind: 'rate', bytesPerS: 400e6 };
const steady: IssueSpec = { process: 'steady', pace: RATE, jitterPs: 0, offsetPs: 0 };
const poisson: IssueSpec = { process: 'poisson', pace: RATE, batch: ONE };
const periodic: IssueSpec = { process: 'periodic', blockBytes: 1000, everyPs: 5_000_000, jitterPs: 0, offsetPs: 0 };
const onOff: IssueSpec = {
  process: 'on_off',
  pace: RATE,
  within: 'poisson',
  on: { kind: 'exponential', mean: 2_000_000 },
  off: { kind: 'exponential', mean: 3_000_000 },
};
const thinking: IssueSpec = { process: 'dependent', think: { kind: 'exponential', mean: 40_000 } };
const entry = (timePs: number, address: number, bytes = 64, write = false): TraceEntry => ({
  timePs,
  address,
  bytes,
  write,
});
/** What Student's t of 49 degrees of freedom passes with probability 1e-4, both sides together. */
const STUDENT_49_1E4 = 4.2357;

describe('open sources', () => {
  it('steady wants 64 bytes every 160 ns at 400 MB/s from its offset on', () => {
    expect(wanted(master({ ...steady, offsetPs: 5 }, { startPs: 1000 }), 3)).toEqual([1005, 161_005, 321_005]);
  });

  it('steady and periodic without an offset take one uniformly in their period, one a replication', () => {
    const specs = [
      master({ ...steady, offsetPs: null }),
      master({ ...steady, offsetPs: null, pace: { kind: 'every', everyPs: 160_000 } }),
      master({ ...periodic, everyPs: 160_000, offsetPs: null }),
    ];
    for (const spec of specs) {
      const starts = Array.from({ length: 2000 }, (_, replication) => wanted(spec, 1, '1', replication)[0]!);
      expect(kolmogorov(starts, (x) => x / 160_000)).toBeLessThan(KOLMOGOROV_1E4);
      expect(wanted(spec, 1, '1', 7)).toEqual([starts[7]]);
    }
  });

  it('Poisson gaps are exponential (Kolmogorov, 1e-4)', () => {
    const times = wanted(master(poisson), 20_000);
    const gaps = times.map((time, index) => time - (index === 0 ? 0 : times[index - 1]!));
    expect(kolmogorov(gaps, (x) => 1 - Math.exp(-x / 160_000))).toBeLessThan(KOLMOGOROV_1E4);
  });

  it('Poisson with batches has the mean batch, and the same pace of requests (1e-4 each)', () => {
    const batch: DistributionSpec = { kind: 'geometric', mean: 4, unit: 1 };
    const times = wanted(master({ ...poisson, batch }), 40_000);
    const batches = new Set(times).size;
    // geometric of mean 4: variance 12
    expect(Math.abs(40_000 / batches - 4) / Math.sqrt(12 / batches)).toBeLessThan(NORMAL_1E4);
    // the span is a sum of `batches` gaps; relative variance of the count in it: (1 + 12/16) / batches
    const pace = times.at(-1)! / 40_000 / 160_000;
    expect(Math.abs(pace - 1) / Math.sqrt(1.75 / batches)).toBeLessThan(NORMAL_1E4);
  });

  it('periodic cuts its blocks by the size distribution, all at the instant of the block', () => {
    const list = requestsOf(master(periodic, { size: { kind: 'fixed', value: 400 } }), 6);
    expect(list.map(({ wantedPs, bytes }) => [wantedPs, bytes])).toEqual([
      [0, 400],
      [0, 400],
      [0, 200],
      [5_000_000, 400],
      [5_000_000, 400],
      [5_000_000, 200],
    ]);
  });

  it('periodic jitter delays each block by itself, evenly over 0 to the jitter (Kolmogorov, 1e-4)', () => {
    const jittered = master({ ...periodic, jitterPs: 50_000 }, { size: { kind: 'fixed', value: 1000 } });
    const delays = wanted(jittered, 5000).map((time, block) => time - block * 5_000_000);
    expect(kolmogorov(delays, (x) => x / 50_000)).toBeLessThan(KOLMOGOROV_1E4);
  });

  it('steady on-off sources carry the stated pace while on, to within one request a cycle of rounding', () => {
    const spec = master({ ...onOff, within: 'steady', on: fixed(1_000_000), off: fixed(3_000_000) });
    const times = wanted(spec, 10_001);
    // 10,000 gaps of 160 ns are 1,600 µs on, so 1,600 cycles of 4 µs, give or take the first and last cycle
    expect(Math.abs(times.at(-1)! - times[0]! - 1600 * 4_000_000)).toBeLessThanOrEqual(2 * 4_000_000);
  });

  it('a trace is replayed as it stands, from the start of the source on', () => {
    const entries = [entry(0, 128, 64, true), entry(500, 0, 4), entry(500, 4096)];
    const list = requestsOf(master({ process: 'trace', file: 't.csv', entries }, { startPs: 1000 }), 9);
    expect(list.map(({ wantedPs, write, offset, bytes }) => [wantedPs, write, offset, bytes])).toEqual([
      [1000, true, 128, 64],
      [1500, false, 0, 4],
      [1500, false, 4096, 64],
    ]);
  });

  it('silent masters want nothing', () => {
    expect(requestsOf(master({ process: 'silent' }), 1)).toEqual([]);
  });

  it('start and stop bound what is wanted: from the start on, and before the stop', () => {
    const trace: IssueSpec = { process: 'trace', file: 't.csv', entries: [0, 1, 2, 3].map((k) => entry(k * 4e5, 0)) };
    for (const issue of [steady, poisson, periodic, onOff, trace]) {
      const free = wanted(master(issue, { startPs: 300_000 }), 4000);
      const bound = wanted(master(issue, { startPs: 300_000, stopPs: 1_100_000 }), 4000);
      expect(Math.min(...free)).toBeGreaterThanOrEqual(300_000);
      expect(bound).toEqual(free.filter((time) => time < 1_100_000));
    }
    expect(wanted(master(steady, { startPs: 5, stopPs: 5 }), 1)).toEqual([]);
  });

  it('stays at its end', () => {
    const source = new RequestSource(master(steady, { stopPs: 200_000 }), BUFFER_BYTES, '1', 0);
    for (let n = 0; n < 5; n++) source.advance();
    expect([source.wantedPs, source.index]).toEqual([Infinity, 2]);
  });
});

describe('closed sources', () => {
  it('leave when a request is wanted to the model', () => {
    for (const issue of [thinking, { process: 'greedy' } as const]) {
      const source = new RequestSource(master(issue), BUFFER_BYTES, '1', 0);
      expect(source.isOpen).toBe(false);
      expect(requests(source, 3).map(({ wantedPs }) => wantedPs)).toEqual([Infinity, Infinity, Infinity]);
    }
  });

  it('dependent draws a whole think time for each request (Kolmogorov, 1e-4)', () => {
    const thinks = requestsOf(master(thinking), 20_000).map(({ thinkPs }) => thinkPs);
    expect(thinks.every(Number.isInteger)).toBe(true);
    expect(kolmogorov(thinks, (x) => 1 - Math.exp(-x / 40_000))).toBeLessThan(KOLMOGOROV_1E4);
  });

  it('are paired by request number: greedy and dependent see the same operations, addresses and service draws', () => {
    const rest = { pattern: { pattern: 'zipf', exponent: 1, lineBytes: 64 } } as const;
    const greedy = requestsOf(master({ process: 'greedy' }, rest), 50);
    expect(requestsOf(master(thinking, rest), 50).map((request) => ({ ...request, thinkPs: 0 }))).toEqual(greedy);
  });
});

describe('what a request is', () => {
  it('reads in the stated share (1e-4), and only or never at 1 and 0', () => {
    expect(Math.abs(writes(0.7) - 3000) / Math.sqrt(10_000 * 0.7 * 0.3)).toBeLessThan(NORMAL_1E4);
    expect([writes(1), writes(0)]).toEqual([0, 10_000]);
  });

  it('have no service draw where no device asks for it, and are else the same', () => {
    const drawn = (atDevice: boolean) =>
      requests(new RequestSource(master(steady), BUFFER_BYTES, '1', 0, atDevice), 500);
    const without = drawn(true).map((request) => ({ ...request, serviceDraw: 0 }));
    expect(drawn(false)).toEqual(without);
    expect(drawn(true)).not.toEqual(without);
  });

  it('has a uniform service draw in [0, 1) (Kolmogorov, 1e-4)', () => {
    const draws = requestsOf(master(steady), 20_000).map(({ serviceDraw }) => serviceDraw);
    expect(draws.every((u) => u >= 0 && u < 1)).toBe(true);
    expect(kolmogorov(draws, (x) => x)).toBeLessThan(KOLMOGOROV_1E4);
  });

  it('has a whole size from 1 byte to the buffer, also where the distribution has other values', () => {
    const spec = master(steady, { size: { kind: 'lognormal', mean: BUFFER_BYTES / 4, spread: 3 } });
    const sizes = requestsOf(spec, 3000).map(({ bytes }) => bytes);
    expect(sizes.every((bytes) => Number.isInteger(bytes) && bytes >= 1)).toBe(true);
    expect(Math.max(...sizes)).toBe(BUFFER_BYTES);
  });

  it('is numbered from 0', () => {
    expect(requestsOf(master(steady), 3).map(({ index }) => index)).toEqual([0, 1, 2]);
  });
});

describe('draws', () => {
  it('do not depend on where the master is attached, its clock, width, outstanding or other masters', () => {
    const moved: Partial<MasterSpec> = {
      attach: 'port9',
      clock: 'fast',
      widthBytes: 16,
      burstBeats: 4,
      maxReads: 1,
      ids: 4,
      qos: 7,
    };
    for (const issue of [poisson, onOff, thinking]) {
      const alone = requestsOf(master(issue), 100);
      expect(requestsOf(master(issue, moved), 100)).toEqual(alone);
      const source = new RequestSource(master(issue), BUFFER_BYTES, '1', 0);
      const other = new RequestSource(master(issue, { name: 'dma1' }), BUFFER_BYTES, '1', 0);
      const beside = alone.map(() => {
        requests(other, 3);
        return requests(source, 1)[0];
      });
      expect(beside).toEqual(alone);
    }
  });

  it('of one purpose do not depend on what the others are', () => {
    const plain = requestsOf(master(poisson), 200);
    const sized = requestsOf(master(poisson, { size: { kind: 'uniform', low: 1, high: 127 } }), 200);
    const mixed = requestsOf(master(poisson, { readShare: 1, pattern: { pattern: 'sequential' } }), 200);
    for (const key of ['write', 'serviceDraw'] as const) expect(part(sized, key)).toEqual(part(plain, key));
    // a mean of 64 bytes as before, so the gaps stay to the picosecond
    expect(part(sized, 'wantedPs')).toEqual(part(plain, 'wantedPs'));
    for (const key of ['wantedPs', 'serviceDraw'] as const) expect(part(mixed, key)).toEqual(part(plain, key));
    expect(part(requestsOf(master(steady), 200), 'offset')).toEqual(part(plain, 'offset'));
  });

  it('take number k of the stream of their purpose for request k, each purpose from its own', () => {
    const size: DistributionSpec = { kind: 'exponential', mean: 300 };
    const think = requestsOf(master(thinking, { size }), 20);
    const jittered = requestsOf(master({ ...steady, pace: { kind: 'every', everyPs: 1e6 }, jitterPs: 999 }), 20);
    const scattered = requestsOf(master({ ...steady, offsetPs: null }), 1);
    const streams = new Map<string, () => number>();
    const u = (purpose: string): number => {
      const stream = streams.get(purpose) ?? randomStream('1', 0, 'dma0', purpose);
      streams.set(purpose, stream);
      return stream();
    };
    for (const { serviceDraw, write, bytes, thinkPs, offset } of think) {
      expect(serviceDraw).toBe(u('service'));
      expect(write).toBe(u('operation') >= 0.5);
      expect(bytes).toBe(Math.max(1, Math.round(-300 * Math.log1p(-u('size')))));
      expect(thinkPs).toBe(Math.round(-40_000 * Math.log1p(-u('think'))));
      expect(offset).toBe(Math.floor(u('address') * (Math.floor((BUFFER_BYTES - bytes) / 64) + 1)) * 64);
    }
    for (const { wantedPs, index } of jittered) expect(wantedPs - index * 1e6).toBe(Math.floor(u('jitter') * 1000));
    expect(scattered[0]?.wantedPs).toBe(Math.floor(u('offset') * 160_000));
    let at = 0;
    for (const time of wanted(master(poisson), 20)) {
      at += Math.round(-160_000 * Math.log1p(-u('gap')));
      expect(time).toBe(at);
    }
  });

  it('differ by master, seed and replication', () => {
    const spec = master(poisson);
    const lists = [
      requestsOf(spec, 5),
      requestsOf({ ...spec, name: 'dma1' }, 5),
      requestsOf(spec, 5, '2'),
      requestsOf(spec, 5, '1', 1),
    ];
    for (const key of ['wantedPs', 'offset', 'serviceDraw'] as const) {
      expect(new Set(lists.map((list) => part(list, key).join())).size).toBe(lists.length);
    }
  });
});

describe('errors', () => {
  it('name the master, the rule and the value', () => {
    const wrong: [MasterSpec, string][] = [
      [master(steady, { size: { kind: 'fixed', value: -8 } }), 'distribution: fixed value must be 0 or more, got -8'],
      [master({ ...steady, pace: { kind: 'rate', bytesPerS: 0 } }), 'pace: must be above 0'],
      [master({ ...poisson, pace: { kind: 'every', everyPs: 0.5 } }), 'pace: batches must be at least 1 ps apart'],
      [master({ ...periodic, blockBytes: 0 }), 'block: must be a whole number of bytes above 0, got 0'],
      [master({ ...steady, jitterPs: -1 }), 'jitter: must be 0 or more, got -1 ps'],
      [
        master({ process: 'trace', file: 't', entries: [entry(5, 0), entry(4, 0)] }),
        'trace entry 2: time must be at least 5 ps, got 4',
      ],
      [
        master({ process: 'trace', file: 't', entries: [entry(0, BUFFER_BYTES - 8)] }),
        `trace entry 1: must lie within the buffer of ${BUFFER_BYTES} bytes, got 64 at ${BUFFER_BYTES - 8}`,
      ],
    ];
    for (const [spec, message] of wrong) {
      const make = () => new RequestSource(spec, BUFFER_BYTES, '1', 0);
      expect(make).toThrow(RangeError);
      expect(make).toThrow(`master dma0: ${message}`);
    }
  });
});

describe('any open source', () => {
  const pace = fc.oneof(
    fc.record({ kind: fc.constant('rate' as const), bytesPerS: fc.integer({ min: 1_000_000, max: 20_000_000_000 }) }),
    fc.record({ kind: fc.constant('every' as const), everyPs: fc.integer({ min: 1000, max: 1_000_000 }) }),
  );
  const jitterPs = fc.integer({ min: 0, max: 2_000_000 });
  const offsetPs = fc.option(fc.integer({ min: 0, max: 1_000_000 }));
  const issue: fc.Arbitrary<IssueSpec> = fc.oneof(
    fc.record({ process: fc.constant('steady' as const), pace, jitterPs, offsetPs }),
    fc.record({ process: fc.constant('poisson' as const), pace, batch: around(4) }),
    fc.record({
      process: fc.constant('periodic' as const),
      blockBytes: fc.integer({ min: 1, max: 5000 }),
      everyPs: fc.integer({ min: 1000, max: 1_000_000 }),
      jitterPs,
      offsetPs,
    }),
    fc.record({
      process: fc.constant('on_off' as const),
      pace,
      within: fc.constantFrom('steady' as const, 'poisson' as const),
      on: around(300_000),
      off: around(500_000),
    }),
  );

  it('wants in order of time, whole picoseconds, within its buffer', () => {
    const property = fc.property(issue, around(80), fc.integer({ min: 0, max: 100 }), (process, size, replication) => {
      const list = requestsOf(master(process, { size, startPs: 77 }), 200, 'property', replication);
      let before = 77;
      let good = list.length === 200;
      for (const { wantedPs, offset, bytes } of list) {
        good &&= Number.isInteger(wantedPs) && wantedPs >= before;
        good &&= Number.isInteger(offset + bytes) && bytes >= 1 && offset >= 0 && offset + bytes <= BUFFER_BYTES;
        before = wantedPs;
      }
      expect(good).toBe(true);
    });
    fc.assert(property, { seed: 41, numRuns: 200 });
  });

  it('keeps its stated pace in the long run, within its standard error (1e-4 each) where it is drawn', () => {
    const size: DistributionSpec = { kind: 'exponential', mean: 100 };
    for (const batch of [ONE, { kind: 'exponential', mean: 2 } as const]) {
      for (let replication = 0; replication < 5; replication++) {
        expect(paceError(master({ ...poisson, batch }, { size }), replication)).toBeLessThan(STUDENT_49_1E4);
      }
    }
    // 2 parts on, 3 parts off, so two fifths of the pace
    for (let replication = 0; replication < 5; replication++) {
      expect(paceError(master(onOff, { size }), replication, 0.4)).toBeLessThan(STUDENT_49_1E4);
    }
    const list = requestsOf(master({ ...steady, jitterPs: 1000 }, { size }), 10_000);
    const carried = list.slice(0, -1).reduce((sum, { bytes }) => sum + bytes, 0);
    expect(Math.abs(carried / 400e6 - list.at(-1)!.wantedPs / 1e12)).toBeLessThan(1e-9);
  });

  it('keeps its stated pace where the buffer cuts its sizes short (1e-4)', () => {
    const size: DistributionSpec = { kind: 'exponential', mean: BUFFER_BYTES };
    expect(paceError(master(poisson, { size }), 0)).toBeLessThan(STUDENT_49_1E4);
  });
});

/** Distance of the bytes per second from `share` of 400 MB/s, in standard errors by 50 spans of equal length. */
function paceError(spec: MasterSpec, replication: number, share = 1): number {
  const list = requestsOf(spec, 40_000, 'pace', replication);
  const spans = 50;
  const length = list.at(-1)!.wantedPs / spans;
  const sums = Array.from({ length: spans }, () => 0);
  for (const { wantedPs, bytes } of list) sums[Math.min(spans - 1, Math.floor(wantedPs / length))]! += bytes;
  const mean = sums.reduce((sum, x) => sum + x, 0) / spans;
  const variance = sums.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (spans - 1);
  return Math.abs(mean - (400e6 * share * length) / 1e12) / Math.sqrt(variance / spans);
}

/** How many of 10,000 requests write. */
function writes(readShare: number): number {
  return requestsOf(master(steady, { readShare }), 10_000).filter(({ write }) => write).length;
}

function part<Key extends keyof Request>(list: Request[], key: Key): Request[Key][] {
  return list.map((request) => request[key]);
}

/** Distributions of about the given mean. */
function around(mean: number): fc.Arbitrary<DistributionSpec> {
  return fc.constantFrom<DistributionSpec>(
    { kind: 'fixed', value: mean },
    { kind: 'uniform', low: mean / 2, high: (3 * mean) / 2 },
    { kind: 'exponential', mean },
    { kind: 'geometric', mean, unit: 1 },
    { kind: 'lognormal', mean, spread: 0.5 },
    { kind: 'table', values: [mean / 2, 2 * mean], weights: [2, 1] },
  );
}
