import { describe, expect, it } from 'vitest';
import { TABLES } from '../../../src/measure/tables/columns.js';

/** The published columns after scenario, placement and replication; a change here is a change of the contract. */
const CONTRACT = {
  'latency.csv':
    'master, port, target, operation, level, count, unfinished, mean_ns, stdev_ns, min_ns, p50_ns, p90_ns, p95_ns, p99_ns, p99_9_ns, p99_99_ns, max_ns, mean_ci95_low_ns, mean_ci95_high_ns, p99_ci95_low_ns, p99_ci95_high_ns, bytes, bandwidth_mb_per_s, offered_mb_per_s, max_backlog_bytes, state',
  'distribution.csv': 'master, port, target, operation, level, bin_low_ns, bin_high_ns, count, cumulative_share',
  'resources.csv': 'element, kind, utilisation, mean_queue, max_queue, grants, stall_share',
  'memory.csv':
    'memory, channel, row_hit_share, row_empty_share, row_conflict_share, refresh_share, turnaround_share, wasted_share, read_mb_per_s, write_mb_per_s, peak_mb_per_s, column_accesses',
  'cache.csv':
    'cache, master, lookups, hits, misses, merged, hit_share, evictions, writebacks, interventions, stale_reads',
  // the last is ours: a sample says so
  'stages.csv': 'master, port, target, operation, part, stage, mean_ns, p99_ns, share, followed_share',
  'blame.csv': 'victim, culprit, element, mean_ns_per_burst, total_us, charged_share',
  'timeline.csv': 'window_start_us, master, read_mb_per_s, write_mb_per_s, mean_latency_ns, max_latency_ns',
  'queues.csv': 'window_start_us, element, mean_depth, max_depth',
  'tasks.csv':
    'task, instances, mean_us, p50_us, p99_us, max_us, deadline_us, deadline_misses, dropped, maintenance_share, queued, unfinished, mean_ci95_low_us, mean_ci95_high_us, p99_ci95_low_us, p99_ci95_high_us',
  'budgets.csv': 'budget, level, limit, measured, unit, margin_share, verdict',
  'comparison.csv':
    'metric, baseline, variant, baseline_value, variant_value, difference, difference_ci95_low, difference_ci95_high, ratio, verdict',
  'bursts.csv':
    'master, port, target, operation, number, address, bytes, wanted_ns, offered_ns, accepted_ns, done_ns, latency_ns, source_wait_ns, port_ns, arbitration_ns, transfer_ns, lookup_ns, snoop_ns, memory_queue_ns, row_preparation_ns, data_ns, refresh_ns, return_arbitration_ns, return_transfer_ns, longest_wait_ns, longest_wait_for, longest_wait_at',
  'sensitivity.csv':
    'element, kind, utilisation, budget, level, limit, measured, measured_faster, change, change_ci95_low, change_ci95_high, unit, verdict',
  'commands.csv': 'memory, channel, time_ns, rank, bank_group, bank, row, command',
};

describe('columns', () => {
  for (const { file, columns } of Object.values(TABLES)) {
    const names = columns.map(({ name }) => name);

    it(`of ${file} are those of the contract, in its order`, () => {
      const after = new Map(Object.entries(CONTRACT)).get(file)!.split(', ');
      expect(names).toEqual(['scenario', 'placement', 'replication', ...after]);
    });

    it(`of ${file} carry a meaning, and their unit in the name`, () => {
      for (const { meaning, quantity, name } of columns) {
        expect(meaning).toMatch(/\.$/);
        expect(/_ns(_per_burst)?$/.test(name)).toBe(quantity === 'time');
        expect(name.endsWith('_mb_per_s')).toBe(quantity === 'rate');
      }
    });
  }
});
