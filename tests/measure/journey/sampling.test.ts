import { readFileSync } from 'node:fs';
import { describe, expect, it, test } from 'vitest';
import { randomStream } from '../../../src/engine/random.js';
import { Sampling } from '../../../src/measure/journey/sampling.js';
import { Recorder, type RecorderSettings } from '../../../src/measure/recorder.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { SystemSpec } from '../../../src/scenario/scenario.js';
import { readScenario } from '../../../src/scenario/read.js';
import type { PathPlain } from '../../../src/measure/path-record.js';
import { allBursts } from '../../../src/measure/journey/stage-tally.js';
import { settingsTo } from '../recorder-settings.js';

const ROUND = 4096;
const CHARGED = 1024;

/** Weights of the bursts of one path from number `first` on. */
function weights(sampling: Sampling, first: number, count: number): number[] {
  return Array.from({ length: count }, (_, n) => sampling.weightOf(0, first + n));
}

const sum = (series: readonly number[]): number => series.reduce((total, x) => total + x, 0);

describe('Sampling', () => {
  it('follows the first round of a path whole, whatever its first number, and a share that halves after 1, 3, 7 ... rounds', () => {
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

  it('charges some of those that are followed, whose share halves sooner', () => {
    const sampling = new Sampling(8, 1);
    const followed = weights(sampling, 0, 15 * ROUND);
    const charged = followed.map((_, number) => sampling.chargedWeightOf(0, number));
    expect(charged.every((weight, n) => weight === 0 || followed[n]! > 0)).toBe(true);
    expect(new Set(charged.slice(0, CHARGED))).toEqual(new Set([1]));
    expect(new Set(charged.slice(CHARGED, 3 * CHARGED))).toEqual(new Set([0, 2]));
    expect(new Set(charged.slice(7 * CHARGED, 15 * CHARGED))).toEqual(new Set([0, 8]));
  });

  it('charges every k-th of the sample where more than 32 masters contend', () => {
    const sampling = new Sampling(65, 1);
    weights(sampling, 0, 1);
    expect([0, 1, 2, 3, 4].map((number) => sampling.chargedWeightOf(0, number))).toEqual([1, 0, 0, 1, 0]);
  });
});

/** Follows every burst, as a log of single bursts needs it. */
class Logging extends Recorder {
  protected override get followsAll(): boolean {
    return true;
  }
}

/** Lets each burst stand for itself. */
class Whole extends Logging {
  override weight(): number {
    return 1;
  }

  override chargedWeight(): number {
    return 1;
  }
}

/** A load that keeps a DRAM channel full, long enough for a sample; what each path of it came to. */
function pathsOf(
  make: new (system: SystemSpec, settings: RecorderSettings) => Recorder,
  shuffle?: () => number,
): PathPlain[] {
  const path = '../../bench/loads/saturated-ddr.yaml';
  const text = readFileSync(new URL(path, import.meta.url), 'utf8').replace('20 ms', '2 ms');
  const system = readScenario(text, 'saturated-ddr.yaml', { readFile: () => '' }).systems[0]!;
  const { durationPs, drainPs } = system.run;
  const recorder = new make(system, settingsTo(durationPs, 'blame'));
  const options = { seed: system.run.seed, replication: 1, warmupPs: 0, durationPs, drainPs, probe: recorder };
  const simulation = new Simulation(system, shuffle === undefined ? options : { ...options, shuffle });
  recorder.watch(simulation);
  simulation.run();
  return recorder.result(1).paths;
}

test('the sample, and what it tells, is the same in whatever order the events of a phase come', () => {
  expect(pathsOf(Recorder, randomStream('shuffle', 1, 'events', 'order'))).toEqual(pathsOf(Recorder));
});

test('that all bursts are followed for a log changes nothing in what the sample tells', () => {
  expect(pathsOf(Logging)).toEqual(pathsOf(Recorder));
});

test('a sample of the bursts tells what all of them tell', () => {
  const [sampled, whole] = [pathsOf(Recorder), pathsOf(Whole)];
  for (const [path, { stages, blame }] of whole.entries()) {
    const sample = sampled[path]!;
    const all = blame!;
    expect([all.charged, stages!.followed, sample.blame!.count, sample.stages!.count]).toEqual(
      [all, all, all, all].map(({ count }) => count),
    );
    expect(sample.stages!.followed).toBeLessThan(0.95 * all.count);
    expect(sample.blame!.charged).toBeLessThan(0.5 * all.count);
    // latencies are those of all bursts; stages within half a percent of them, charges within 1.5 %, with one seed for which this was seen
    const latency = sum(allBursts([stages!]).sumsPs);
    expect(sum(allBursts([sample.stages!]).sumsPs) / latency).toBeCloseTo(1, 12);
    for (const [stage, ps] of allBursts([stages!]).sumsPs.entries()) {
      expect(Math.abs(allBursts([sample.stages!]).sumsPs[stage]! - ps) / latency).toBeLessThan(0.005);
    }
    for (const { culprit, element, ps } of all.charges) {
      const same = sample.blame!.charges.find((one) => one.culprit === culprit && one.element === element);
      expect(Math.abs((same?.ps ?? 0) - ps) / latency).toBeLessThan(0.015);
    }
  }
});
