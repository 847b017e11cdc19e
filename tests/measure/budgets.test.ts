import { describe, expect, it } from 'vitest';
import { budgetRows, limitsOf } from '../../src/measure/budgets.js';
import { verdictText } from '../../src/measure/tables/verdict-columns.js';
import { PathRecord } from '../../src/measure/path-record.js';
import type { ReplicationResult } from '../../src/measure/results.js';
import type { BudgetRow } from '../../src/measure/tables/rows.js';
import type { BudgetSpec } from '../../src/scenario/scenario.js';
import { FACTS, replicationSample, WINDOW_PS } from './study-sample.js';

const LATENCY = {
  name: 'in_time',
  kind: 'latency',
  master: 'camera',
  operation: 'write',
  level: 'burst',
  percentile: 0.9,
  limitPs: 1000,
} as const;

/** A replication of a path with `within` samples at the limit exactly, `above` just above it, and some still open. */
function replication(number: number, within: number, above: number, open = 0, agePs = 0): ReplicationResult {
  const settings = { fromPs: 0, toPs: WINDOW_PS, batched: false, keepAtMost: 0, limits: limitsOf([LATENCY]) };
  const path = new PathRecord(FACTS, settings);
  for (let i = 0; i < within; i++) path.burst.of(1).record(1000);
  for (let i = 0; i < above; i++) path.burst.of(1).record(1001);
  for (let i = 0; i < open; i++) path.burst.leaveOpen(agePs, 1);
  path.bytes = 64 * within;
  path.offeredBytes = path.bytes;
  return { ...replicationSample(number, 0), paths: [path.toPlain()] };
}

function pooled(budget: BudgetSpec, replications: readonly ReplicationResult[]): BudgetRow {
  const base = { scenario: 's', placement: 'p' };
  return budgetRows({ placement: 'p', budgets: [budget], replications: [...replications] }, replications, base).at(-1)!;
}

const several = (make: (number: number) => ReplicationResult, count = 5): ReplicationResult[] =>
  Array.from({ length: count }, (_, r) => make(r + 1));

describe('a latency', () => {
  it('is judged by exact counts: what is at the limit keeps it, a picosecond more does not', () => {
    expect(
      pooled(
        LATENCY,
        several((r) => replication(r, 970 + r, 30 - r)),
      ).verdict,
    ).toBe('met');
    expect(
      pooled(
        LATENCY,
        several((r) => replication(r, 800 + r, 200 - r)),
      ).verdict,
    ).toBe('missed');
    expect(
      pooled(
        LATENCY,
        several((r) => replication(r, 900 + r, 100 - r)),
      ).verdict,
    ).toBe('undecided');
  });

  it('counts what had not come back as a miss before it is met, and as none before it is missed', () => {
    const young = pooled(
      LATENCY,
      several((r) => replication(r, 800 + r, 0, 200 - r, 500)),
    );
    expect([young.verdict, young.reason]).toEqual(['undecided', expect.stringContaining('both sides')]);
    expect(
      pooled(
        LATENCY,
        several((r) => replication(r, 800 + r, 0, 200 - r, 1001)),
      ).verdict,
    ).toBe('missed');
    expect(
      pooled(
        LATENCY,
        several((r) => replication(r, 990 + r, 0, 1, 500)),
      ).verdict,
    ).toBe('met');
  });

  it('without a sample is undecided, and so is one of a single replication', () => {
    expect(
      pooled(
        LATENCY,
        several((r) => replication(r, 0, 0)),
      ).reason,
    ).toContain('nothing');
    const single = pooled(LATENCY, [replication(1, 1000, 0)]);
    expect([single.verdict, single.reason]).toEqual(['undecided', expect.stringContaining('at least 2')]);
  });

  it('of an overloaded path is never met', () => {
    const full = several((r) => {
      const one = replication(r, 1000, 0);
      return { ...one, paths: one.paths.map((path) => ({ ...path, overCapacity: true })) };
    });
    expect(pooled(LATENCY, full).reason).toContain('overloaded');
  });

  it('fails loudly where its limit was not counted', () => {
    const other = { ...LATENCY, limitPs: 999 };
    expect(() =>
      pooled(
        other,
        several((r) => replication(r, 1, 0)),
      ),
    ).toThrow('did not count the limit');
  });
});

describe('no misses at all', () => {
  const never = { ...LATENCY, percentile: 1 };

  it('is none in n with its bound, and never met', () => {
    const row = pooled(
      never,
      several((r) => replication(r, 1000, 0), 10),
    );
    expect(row.verdict).toBe('none');
    expect(verdictText(row)).toBe('none in 10000, misses in at most 25.9 % of runs');
    expect(row.measured).toBe(1000);
  });

  it('is missed by one, and undecided by one that may still be', () => {
    expect(
      pooled(
        never,
        several((r) => replication(r, 1000, r === 3 ? 1 : 0)),
      ).verdict,
    ).toBe('missed');
    expect(
      pooled(
        never,
        several((r) => replication(r, 1000, 0, r === 3 ? 1 : 0)),
      ).verdict,
    ).toBe('undecided');
  });
});

describe('others', () => {
  // 64,000 bytes and a few in 1 ms
  const rates = several((r) => replication(r, 1000 + r, 0));

  it('a bandwidth must be reached, a utilisation must not be passed', () => {
    const bandwidth = (limitBytesPerS: number): BudgetSpec => {
      return { name: 'b', kind: 'bandwidth', master: 'camera', operation: null, element: null, limitBytesPerS };
    };
    expect(pooled(bandwidth(64e6), rates).verdict).toBe('met');
    expect(pooled(bandwidth(65e6), rates).verdict).toBe('missed');
    // mean 1003 bursts a window
    expect(pooled(bandwidth(64.192e6), rates)).toMatchObject({ verdict: 'undecided', marginShare: 0 });
    // busy 20 % to 100 % of the window
    const busy = (limitShare: number): BudgetSpec => ({
      name: 'u',
      kind: 'utilisation',
      element: 'fabric0',
      limitShare,
    });
    expect(pooled(busy(0.95), rates).verdict).toBe('met');
    expect(pooled(busy(0.2), rates).verdict).toBe('missed');
    expect(pooled(busy(0.7), rates)).toMatchObject({ verdict: 'undecided', measured: 0.6 });
  });

  it('the bandwidth of a memory is what its channels moved', () => {
    const ddr: BudgetSpec = {
      name: 'd',
      kind: 'bandwidth',
      master: null,
      operation: null,
      element: 'ddr',
      limitBytesPerS: 1e9,
    };
    // 1e6 to 5e6 read and 5e5 written in 1 ms
    expect(pooled(ddr, rates).measured).toBeCloseTo(3.5e9, 0);
  });

  it('rows of single replications show what was measured and judge nothing', () => {
    const budget: BudgetSpec = { name: 'u', kind: 'utilisation', element: 'fabric0', limitShare: 0.5 };
    const base = { scenario: 's', placement: 'p' };
    const rows = budgetRows({ placement: 'p', budgets: [budget], replications: rates }, rates, base);
    expect(rows.map(({ replication: number, verdict }) => [number, verdict])).toEqual([
      ...[1, 2, 3, 4, 5].map((number) => [number, null]),
      ['all', 'undecided'],
    ]);
    expect(rows[0]!.measured).toBe(0.2);
  });
});
