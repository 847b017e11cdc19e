import { describe, expect, test } from 'vitest';
import { delayed, EARLY_LOGS } from './early-logs.js';
import { faultsOf } from './legality.js';
import { RULES } from './rules.js';

describe('the checker names the rule of a log that is one clock early', () => {
  test.each(EARLY_LOGS)('$rule: $what', ({ rule, times, log, late }) => {
    const faults = faultsOf(log, times);
    // "order" goes with the command bus: a clock before another is no clock after it
    expect(faults.map((fault) => fault.rule).filter((name) => rule !== 'order' || name === 'order')).toEqual([rule]);
    expect(faults.at(-1)!.command).toBe(log.at(-1));
    if (!late) return;
    expect(faults[0]!.from).toBe(log.at(-1)!.clock + 1);
    expect(faultsOf(delayed(log, 1), times)).toEqual([]);
  });

  test('and there is such a log for every rule', () => {
    expect([...new Set(EARLY_LOGS.map(({ rule }) => rule))].toSorted()).toEqual(Object.keys(RULES).toSorted());
  });
});
