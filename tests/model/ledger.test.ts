import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Ledger } from '../../src/model/ledger.js';

describe('a ledger', () => {
  it('shows what was given back from its instant on', () => {
    const ledger = new Ledger(3);
    ledger.take(3);
    ledger.giveBack(2, 500);
    expect(ledger.at(499)).toBe(0);
    expect(ledger.at(500)).toBe(2);
  });

  it('says when an amount can be taken, adding up what comes back, or never', () => {
    const ledger = new Ledger(10);
    ledger.take(9);
    ledger.giveBack(2, 700);
    ledger.giveBack(3, 400);
    // 1 now, 4 from 400, 6 from 700; the other 4 are out for good
    expect([1, 2, 4, 5, 6, 7].map((amount) => ledger.opensAt(amount, 100))).toEqual([
      100,
      400,
      400,
      700,
      700,
      Infinity,
    ]);
  });

  it('never runs out when it is unlimited', () => {
    const ledger = new Ledger(Infinity);
    ledger.take(1e9);
    expect(ledger.opensAt(1e9, 5)).toBe(5);
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
          expect(ledger.at(now)).toBe(there(now));
          const instants = [now, ...due.map((d) => d.at).filter((at) => at > now)].toSorted((a, b) => a - b);
          expect(ledger.opensAt(ask, now)).toBe(instants.find((at) => there(at) >= ask) ?? Infinity);
          if (ledger.at(now) < take) continue;
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
