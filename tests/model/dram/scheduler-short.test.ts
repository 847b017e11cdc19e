import { describe, expect, test } from 'vitest';
import { SCHEDULER_CASES } from './scheduler-cases.js';

// The same as scheduler.test.ts in a fraction of its time, for those who must ask often: refresh comes every 400 ns.
describe('the first 700 clocks are those of a decision in every clock', () => {
  test.each(SCHEDULER_CASES)('%s', (_title, run) => {
    expect(run({ clocks: 700, tREFIps: 400_000, firstRefreshPs: 200_000 })).toBeGreaterThan(2);
  });
});
