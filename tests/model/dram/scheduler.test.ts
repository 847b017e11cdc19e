import { describe, expect, test } from 'vitest';
import { SCHEDULER_CASES } from './scheduler-cases.js';

describe('the channel issues what a decision in every clock would, and breaks no rule', () => {
  // refresh comes three times as often as the grade says, so that a run meets it
  test.each(SCHEDULER_CASES)('%s', (_title, run) => {
    expect(run({ clocks: 5_000, tREFIps: 2_600_000, firstRefreshPs: 1_000_000 })).toBeGreaterThan(100);
  });
});
