import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { type Done, draws, master, run, sorted } from './platform.js';
import { randomSystem } from './random-system.js';

const done = (spec: SystemSpec, shuffle?: () => number): Done[] =>
  sorted(run(spec, shuffle === undefined ? {} : { shuffle }).log.done);

/** As `toEqual`, in a fraction of the time where nothing differs. */
function expectSame(got: Done[], expected: Done[]): void {
  if (JSON.stringify(got) !== JSON.stringify(expected)) expect(got).toEqual(expected);
}

describe('a run', () => {
  it('does not depend on the order of events within a phase', () => {
    fc.assert(
      fc.property(randomSystem, fc.nat(1e6), (spec, seed) => {
        const plain = done(spec);
        expectSame(done(spec, draws(seed)), plain);
        expectSame(done(spec, draws(seed + 1)), plain);
      }),
      { seed: 21, numRuns: 300 },
    );
  }, 60_000);

  it('is the same the second time', () => {
    fc.assert(
      fc.property(randomSystem, (spec) => {
        expectSame(run(spec).log.done, run(spec).log.done);
      }),
      { seed: 22, numRuns: 40 },
    );
  }, 60_000);

  it('does not change for the others when a silent master is added', () => {
    fc.assert(
      fc.property(randomSystem, (spec) => {
        const { attach, buffer } = spec.masters[0]!;
        const silent = master('silent', attach, buffer, { issue: { process: 'silent' } });
        expectSame(done({ ...spec, masters: [...spec.masters, silent] }), done(spec));
      }),
      { seed: 23, numRuns: 60 },
    );
  }, 60_000);
});
