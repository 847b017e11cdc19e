import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Ledger } from '../../src/model/ledger.js';

/** The first instant at which an amount can be taken. */
const opens = (ledger: Ledger, amount: number, now: number): number =>
  ledger.has(amount, { now }) ? now : ledger.opensAt;

/** Is that what may be taken, and no more? */
const holds = (ledger: Ledger, amount: number, now: number): boolean =>
  ledger.has(amount, { now }) && !ledger.has(amount + 1, { now });

describe('a ledger', () => {
  it('shows what was given back from its instant on', () => {
    const ledger = new Ledger(3);
    ledger.take(3);
    ledger.giveBack(2, 500);
    expect(holds(ledger, 0, 499)).toBe(true);
    expect(holds(ledger, 2, 500)).toBe(true);
  });

  it('says when an amount can be taken, adding up what comes back, or never', () => {
    const ledger = new Ledger(10);
    ledger.take(9);
    ledger.giveBack(2, 700);
    ledger.giveBack(3, 400);
    // 1 now, 4 from 400, 6 from 700; the other 4 are out for good
    expect([1, 2, 4, 5, 6, 7].map((amount) => opens(ledger, amount, 100))).toEqual([100, 400, 400, 700, 700, Infinity]);
  });

  it('never runs out when it is unlimited', () => {
    const ledger = new Ledger(Infinity);
    ledger.take(1e9);
    expect(opens(ledger, 1e9, 5)).toBe(5);
  });

  it('agrees with a plain list, whatever is taken and given back when', () => {
    const step = fc.record({
      wait: fc.nat(40),
      take: fc.nat(3),
      after: fc.nat(200),
      ask: fc.integer({ min: 1, max: 30 }),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 120, size: 'max' }), (steps) => {
        const ledger = new Ledger(20);
        const due: { at: number; amount: number }[] = [];
        const there = (at: number): number => due.reduce((sum, d) => (d.at <= at ? sum + d.amount : sum), 20 - taken);
        let taken = 0;
        let now = 0;
        for (const { wait, take, after, ask } of steps) {
          now += wait;
          expect(holds(ledger, there(now), now)).toBe(true);
          const instants = [now, ...due.map((d) => d.at).filter((at) => at > now)].toSorted((a, b) => a - b);
          expect(opens(ledger, ask, now)).toBe(instants.find((at) => there(at) >= ask) ?? Infinity);
          if (!ledger.has(take, { now })) continue;
          ledger.take(take);
          taken += take;
          ledger.giveBack(take, now + after);
          due.push({ at: now + after, amount: take });
        }
      }),
      { seed: 3, numRuns: 200 },
    );
  });
});
