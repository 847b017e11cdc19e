import { describe, expect, it } from 'vitest';
import { type OutsideCheck } from '../outside-check.js';
import { describe as inWords } from '../report.js';
import { type Case, readCases } from './case-file.js';
import { checksOf } from './checks.js';
import type { Experiment } from './experiment.js';
import { experimentsOf } from './experiments.js';
import { whyInexpressible, whyNotCompared } from './inexpressible.js';
import { casesFor, checkCase } from './queueing.js';
import { estimate, MOST_COMPARISONS, REPLICATIONS, requestsFor, T } from './recipe.js';
import { spelled } from './sources.js';
import type { Reading } from './tally.js';

const cases = readCases();
const caseOf = (id: string): Case => cases.find((one) => one.id === id)!;
const failed = (checks: readonly OutsideCheck[]) =>
  checks.filter(({ verdict }) => verdict === 'fail').map(({ check }) => check);

describe('the published values', () => {
  it('are all there, each with a source that has a name', () => {
    expect(cases).toHaveLength(162);
    expect(cases.flatMap(({ values }) => values)).toHaveLength(1743);
    for (const { values } of cases) {
      for (const { value, source } of values) {
        expect(value).toBeTypeOf('number');
        expect(value).not.toBeNaN();
        expect(spelled(source)).not.toBe('');
      }
    }
  });
});

describe('every case', () => {
  it('is run, or is one that the model cannot express for a stated reason', () => {
    for (const one of cases) {
      expect(experimentsOf(one).length > 0, one.id).toBe(whyInexpressible(one) === null);
    }
  });

  it('that is run has each of its values compared, or not for a stated reason', () => {
    let compared = 0;
    for (const one of cases.filter((each) => whyInexpressible(each) === null)) {
      const targets = experimentsOf(one).flatMap((experiment) => experiment.targets);
      const found = new Set(targets.map(({ published }) => published.source + published.metric + published.value));
      for (const published of one.values) {
        const isCompared = found.has(published.source + published.metric + published.value);
        expect(isCompared, `${one.id} ${published.subject} ${published.metric}`).toBe(
          whyNotCompared(one, published) === null,
        );
        if (isCompared) compared++;
      }
    }
    expect(compared).toBeGreaterThan(1500);
  });
});

describe('the recipe', () => {
  it('shares its error rate among at least as many comparisons as there are', () => {
    const targets = cases
      .flatMap((one) => experimentsOf(one))
      .filter(({ replications }) => replications > 1)
      .flatMap((experiment) => experiment.targets);
    // a quantile with a probability of its own is compared from both sides
    const quantiles = targets.filter(({ published }) => /_p\d/.test(published.metric)).length;
    expect(targets.length + quantiles).toBeLessThanOrEqual(MOST_COMPARISONS);
  });

  it('takes the ratio of the sums, and an interval from how runs differ from it', () => {
    const runs = [
      { sum: 2, count: 1 },
      { sum: 4, count: 3 },
    ];
    // ratio 6/4; differences 0.5 and −0.5, deviation √0.5; T √0.5 √2 / 4
    expect(estimate(runs).value).toBe(1.5);
    expect(estimate(runs).half).toBeCloseTo(T / 4, 12);
    expect(estimate([{ sum: 3, count: 2 }])).toEqual({ value: 1.5, half: 0 });
  });

  it('holds the true mean of normal numbers in an interval as wide as theory has it', () => {
    // 40 points of a normal at even levels: their deviation is near 1, so half is near T/√40
    const levels = Array.from({ length: REPLICATIONS }, (_, n) => (n + 0.5) / REPLICATIONS);
    const points = levels.map((p) => Math.sqrt(3) * (2 * p - 1));
    const { value, half } = estimate(points.map((sum) => ({ sum: sum + 5, count: 1 })));
    expect(value).toBeCloseTo(5, 12);
    expect(half).toBeCloseTo(T / Math.sqrt(REPLICATIONS), 1);
  });

  it('makes runs longer the nearer to saturation, up to a limit', () => {
    const at = (load: number) => requestsFor({ load, arrivals: 1, services: 1 });
    expect(at(0.3)).toBeLessThan(at(0.7));
    expect(at(0.7)).toBeLessThan(at(0.95));
    expect(at(0.999)).toBe(10_000_000);
  });

  it('finds services that are 3 % too long', () => {
    const one = caseOf('mm1_r0.5');
    const params = new Map([...one.params, ['mean_service', String(16 * 1.03)]]);
    const found = failed(runFirst({ ...one, params }));
    expect(found).toContain('mm1_r0.5: utilisation');
    expect(found).toContain('mm1_r0.5: mean response');
  }, 180_000);

  it('finds services of the right mean and the wrong distribution', () => {
    const one = caseOf('mm1_r0.5');
    const params = new Map([...one.params, ['service_cycles', '16']]);
    const found = failed(runFirst({ ...one, params }));
    expect(found).not.toContain('mm1_r0.5: utilisation');
    expect(found).toContain('mm1_r0.5: mean wait');
    expect(found).toContain('mm1_r0.5: sd wait');
    expect(found.filter((check) => check.includes('beyond the p99 of'))).toHaveLength(2);
  }, 180_000);

  it('does not let a comparison pass because its interval is wide', () => {
    const one = caseOf('dm1_r0.5');
    const [published] = one.values.filter(({ metric }) => metric === 'mean_wait');
    const noisy: Experiment = {
      variant: '',
      replications: REPLICATIONS,
      targets: [{ published: published!, slack: 0 }],
      run: (replication): Reading[] => [{ kind: 'mean', sum: published!.value * (replication % 2) * 2, count: 1 }],
    };
    const found = failed(checksOf(one, noisy, runsOf(noisy)));
    expect(found).toEqual(['dm1_r0.5: widest half interval of its means, relative']);
  });
});

describe('queueing theory and the model agree on', () => {
  for (const one of casesFor('quick')) {
    it(
      one.id,
      () => {
        const checks = checkCase(one);
        expect(checks.length).toBeGreaterThan(2);
        for (const check of checks) expect.soft(check.verdict, inWords(check)).toBe('pass');
      },
      180_000,
    );
  }
});

/** The checks of the first way in which a case is run. */
function runFirst(one: Case): OutsideCheck[] {
  const [first] = experimentsOf(one);
  return checksOf(one, first!, runsOf(first!));
}

function runsOf({ replications, run }: Experiment): Reading[][] {
  return Array.from({ length: replications }, (_, n) => run(n + 1));
}
