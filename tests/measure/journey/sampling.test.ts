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

const ROUND = 2048;

/** Weights of the bursts of one path from number `first` on. */
function weights(sampling: Sampling, first: number, count: number): number[] {
  return Array.from({ length: count }, (_, n) => sampling.weightOf(0, first + n));
}

const sum = (series: readonly number[]): number => series.reduce((total, x) => total + x, 0);

describe('Sampling', () => {
  it('follows the first round of a path whole, whatever its first number, and a share that halves after 1, 3, 7 ... rounds', () => {
    const all = weights(new Sampling(1), 12_345, 15 * ROUND);
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
    const all = weights(new Sampling(1), 0, count);
    for (const step of [2, 3, 8, 64]) {
      for (let residue = 0; residue < step; residue++) {
        const stood = sum(all.filter((_, n) => n % step === residue));
        const mean = count / step;
        // a burst stands for up to 32: variance at most 31 each; 5 standard deviations over some 80 residues
        expect(Math.abs(stood - mean)).toBeLessThan(5 * Math.sqrt(31 * mean));
      }
    }
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

/** A load of the bench, long enough for a sample. */
const load = (name: string): string =>
  readFileSync(new URL(`../../bench/loads/${name}.yaml`, import.meta.url), 'utf8').replace(
    /duration: \d+ ms/u,
    'duration: 2 ms',
  );

/** Bursts that seldom come, and find a lane, a server and a queue taken by long ones for a while already, and those charged no more. */
const SELDOM = `
title: seldom
platform:
  clocks: { fabric: 400 MHz }
  ports:
    p0: { clock: fabric, width: 128 bit, to: [exchange], outstanding: unlimited, queue_depth: 8 }
    p1: { clock: fabric, width: 128 bit, to: [exchange], outstanding: unlimited, queue_depth: 8 }
  switches:
    exchange: { clock: fabric, width: 128 bit, to: [ddr, pad, desk], queue_depth: 8 }
  memories:
    ddr: { kind: ddr, grade: DDR3-1600K-x16, bus: 32 bit, density: 4 Gbit, clock: fabric, width: 128 bit }
    pad: { kind: onchip, clock: fabric, width: 128 bit, size: 192 KiB, access: 2 cycles }
  devices:
    desk: { size: 4 KiB, clock: fabric, width: 128 bit, service: 900 ns }
buffers:
  long: { memory: ddr, size: 16 MiB }
  short: { memory: ddr, size: 16 MiB }
  near: { memory: pad, size: 64 KiB }
  form: { memory: desk, size: 4 KiB }
masters:
  long: { attach: p0, burst: 64 beats, size: 1 KiB, outstanding: 4, buffer: long, operations: { read_share: 30 % }, issue: { process: greedy } }
  behind: { attach: p0, burst: 4 beats, buffer: short, operations: write, size: 64 B, issue: { process: periodic, block: 64 B, every: 33333 ns } }
  ahead: { attach: p0, burst: 64 beats, size: 1 KiB, outstanding: 2, buffer: near, operations: write, issue: { process: greedy } }
  rival: { attach: p1, burst: 64 beats, size: 1 KiB, outstanding: 2, buffer: near, operations: write, issue: { process: greedy } }
  seldom: { attach: p1, burst: 4 beats, buffer: short, operations: write, size: 64 B, issue: { process: periodic, block: 64 B, every: 37777 ns } }
  clerk: { attach: p0, burst: 1 beats, size: 16 B, outstanding: 1, buffer: form, operations: read, issue: { process: greedy } }
  caller: { attach: p1, burst: 1 beats, size: 16 B, buffer: form, operations: read, issue: { process: periodic, block: 16 B, every: 41111 ns } }
run: { duration: 4 ms, warmup: 0 ns, replications: 1, drain: 10 us }
`;

/** What each path of a load came to. */
function pathsOf(
  make: new (system: SystemSpec, settings: RecorderSettings) => Recorder,
  shuffle?: () => number,
  text = load('saturated-ddr'),
): PathPlain[] {
  const system = readScenario(text, 'load.yaml', { readFile: () => '' }).systems[0]!;
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

// the one takes notes while a burst that is charged is under way, the other always
test.each([
  ['saturated-ddr', load('saturated-ddr')],
  ['caches', load('caches')],
  ['device', load('device')],
  ['seldom', SELDOM],
])(
  'that all bursts of %s are followed, and notes are always taken, changes nothing in what the sample tells',
  (_, text) => {
    const sampled = pathsOf(Recorder, undefined, text);
    expect(sampled).toEqual(pathsOf(Logging, undefined, text));
    const [charged, all] = (['charged', 'count'] as const).map((key) => sum(sampled.map(({ blame }) => blame![key])));
    expect(charged).toBeLessThan(0.5 * all!);
  },
);

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
