import { readFileSync } from 'node:fs';
import { describe, expect, it, test } from 'vitest';
import { Sampling } from '../../../src/measure/journey/sampling.js';
import { Recorder, type RecorderSettings } from '../../../src/measure/recorder.js';
import { Simulation } from '../../../src/model/simulation.js';
import { readScenario } from '../../../src/scenario/read.js';
import type { BlamePlain } from '../../../src/measure/journey/blame-tally.js';

const ROUND = 2048;

/** Weights of the bursts of one path from number `first` on. */
function weights(sampling: Sampling, first: number, count: number): number[] {
  return Array.from({ length: count }, (_, n) => sampling.weightOf(0, first + n));
}

const sum = (series: readonly number[]): number => series.reduce((total, x) => total + x, 0);

describe('Sampling', () => {
  it('charges the first round of a path whole, whatever its first number, and a share that halves after 1, 3, 7 ... rounds', () => {
    const all = weights(new Sampling(8, 1), 12_345, 15 * ROUND);
    expect(new Set(all.slice(0, ROUND))).toEqual(new Set([1]));
    expect(new Set(all.slice(ROUND, 3 * ROUND))).toEqual(new Set([0, 2]));
    expect(new Set(all.slice(3 * ROUND, 7 * ROUND))).toEqual(new Set([0, 4]));
    expect(new Set(all.slice(7 * ROUND))).toEqual(new Set([0, 8]));
    // each span of a weight holds a round of charged bursts by chance: 5 standard deviations of a binomial, wrong once in a million
    for (const [from, halvings] of [
      [1, 1],
      [3, 2],
      [7, 3],
    ] as const) {
      const span = all.slice(from * ROUND, (2 * from + 1) * ROUND);
      const share = 2 ** -halvings;
      const charged = span.filter((weight) => weight > 0).length;
      expect(Math.abs(charged - span.length * share)).toBeLessThan(5 * Math.sqrt(span.length * share * (1 - share)));
    }
  });

  it('falls in step with no pattern: every residue of 2 to 64 has its share', () => {
    const count = 63 * ROUND;
    const all = weights(new Sampling(8, 1), 0, count);
    for (const step of [2, 3, 8, 64]) {
      for (let residue = 0; residue < step; residue++) {
        const stood = sum(all.filter((_, n) => n % step === residue));
        const mean = count / step;
        // a burst stands for up to 32: variance at most 31 each; 5 standard deviations over some 80 residues
        expect(Math.abs(stood - mean)).toBeLessThan(5 * Math.sqrt(31 * mean));
      }
    }
  });

  it('charges every k-th where more than 32 masters contend', () => {
    const all = weights(new Sampling(65, 1), 0, 3 * ROUND);
    expect(all.every((weight, n) => (n % 3 === 0 ? weight === 1 : weight === 0))).toBe(true);
  });
});

/** Charges every burst, and lets each stand for itself. */
class Whole extends Recorder {
  protected override get chargesAll(): boolean {
    return true;
  }

  override weight(): number {
    return 1;
  }
}

test('a sample of the bursts tells what all of them tell', () => {
  const path = '../../bench/loads/saturated-ddr.yaml';
  const text = readFileSync(new URL(path, import.meta.url), 'utf8').replace('20 ms', '2 ms');
  const system = readScenario(text, 'saturated-ddr.yaml', { readFile: () => '' }).systems[0]!;
  const { durationPs, drainPs } = system.run;
  const settings: RecorderSettings = {
    fromPs: 0,
    toPs: durationPs,
    batched: false,
    keepAtMost: 0,
    limits: new Map(),
    overCapacity: new Set(),
    journeys: 'blame',
    timelinePs: null,
  };
  const blames = [new Recorder(system, settings), new Whole(system, settings)].map((recorder): BlamePlain[] => {
    const options = { seed: system.run.seed, replication: 1, warmupPs: 0, durationPs, drainPs, probe: recorder };
    const simulation = new Simulation(system, options);
    recorder.watch(simulation);
    simulation.run();
    return recorder.result(1).paths.map(({ blame }) => blame!);
  });
  const [sampled, whole] = blames as [BlamePlain[], BlamePlain[]];
  for (const [path, { count, charged, charges }] of whole.entries()) {
    const sample = sampled[path]!;
    expect([charged, sample.count]).toEqual([count, count]);
    expect(sample.charged).toBeLessThan(0.75 * count);
    const waited = sum(charges.map(({ ps }) => ps));
    expect(sum(sample.charges.map(({ ps }) => ps)) / waited).toBeCloseTo(1, 12);
    for (const { culprit, element, ps } of charges) {
      const found = sample.charges.find((one) => one.culprit === culprit && one.element === element)?.ps ?? 0;
      // within 1 % of all that the path waits for, of what comes rarely and is long (refresh, some 250 times) within 3 %, with one
      // seed for which this was seen; three replications more would halve it
      expect(Math.abs(found - ps) / waited).toBeLessThan(culprit === '(refresh)' ? 0.03 : 0.01);
    }
  }
});
