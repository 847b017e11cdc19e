import { beforeAll, describe, expect, test } from 'vitest';
import type { OutsideCheck } from '../outside-check.js';
import type { ReferenceRow } from '../reference-table.js';
import { describe as shown } from '../report.js';
import { bounds } from './area.js';
import { given, keyOf, ROWS, rowsOf } from './bounded.js';
import { mastersOf } from './fixed-priority.js';
import { blockingOf, responseOf, throughServer } from './formulas.js';
import { serversOf } from './server-chain.js';

describe('bounds', () => {
  let checks: OutsideCheck[];
  beforeAll(() => {
    checks = bounds.run('quick', () => {});
  }, 60_000);

  test('are never passed, and come near enough', () => {
    expect(checks.filter(({ verdict }) => verdict === 'fail').map(shown)).toEqual([]);
    expect(new Set(checks.map(({ check }) => check)).size).toBe(checks.length);
  });

  test('are all compared: every row of the table', () => {
    const left = ROWS.map(keyOf).filter(
      (key) => !checks.some(({ check }) => /^[,:]/.test(check.slice(key.length)) && check.startsWith(key)),
    );
    expect(left).toEqual([]);
    expect(new Set(ROWS.map(keyOf)).size).toBe(ROWS.length);
  });
});

describe('the table', () => {
  const subjectOf = (row: ReferenceRow): number => Number(row.text('subject').replace('master', '')) - 1;

  test('has the round robin bounds of its formulas', () => {
    for (const row of rowsOf('round_robin')) {
      const overhead = given(row, 'overhead_per_grant');
      const lengths = row
        .parameter('params', 'bursts_max')!
        .split('|')
        .map((beats) => Number(beats) + overhead);
      const round = lengths.reduce((sum, beats) => sum + beats, 0);
      const own = lengths[subjectOf(row)]! - overhead;
      const ahead = row.parameter('params', 'own_requests_ahead');
      const bound = row.text('metric') === 'head_to_start' ? round - own : (Number(ahead ?? 0) + 1) * round;
      expect(row.number('value'), keyOf(row)).toBe(bound);
    }
  });

  test('has the response times of the analysis of all instances', () => {
    for (const row of rowsOf('fixed_priority_nonpreemptive')) {
      const formula = row.text('metric') === 'blocking' ? blockingOf : responseOf;
      expect(row.number('value'), keyOf(row)).toBe(formula(mastersOf(row), subjectOf(row)));
    }
  });

  test('has the bounds of network calculus', () => {
    for (const row of [...rowsOf('network_calculus'), ...rowsOf('network_calculus_concatenation')]) {
      const flow = { sigma: given(row, 'sigma'), rho: given(row, 'rho') };
      const servers = serversOf(row);
      const together = {
        rate: Math.min(...servers.map(({ rate }) => rate)),
        latency: servers.reduce((sum, { latency }) => sum + latency, 0),
      };
      const { delay, backlog, burst } = throughServer(flow, together);
      // each server is given the flow as it leaves the one before
      const hops = servers.map((server, i) => {
        const before = servers.slice(0, i).reduce((sum, { latency }) => sum + latency, 0);
        return throughServer({ ...flow, sigma: flow.sigma + flow.rho * before }, server).delay;
      });
      const values: Record<string, number> = {
        delay_bound: delay,
        delay_bound_end_to_end: delay,
        delay_sum_of_hop_bounds: hops.reduce((sum, hop) => sum + hop, 0),
        backlog_bound: backlog,
        output_burst: burst,
      };
      expect(row.number('value'), keyOf(row)).toBeCloseTo(values[row.text('metric')]!, 9);
    }
  });
});
