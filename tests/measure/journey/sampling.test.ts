import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { randomStream } from '../../../src/engine/random.js';
import { Recorder, type RecorderSettings } from '../../../src/measure/recorder.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { SystemSpec } from '../../../src/scenario/scenario.js';
import { readScenario } from '../../../src/scenario/read.js';
import type { PathPlain } from '../../../src/measure/path-record.js';
import { allBursts } from '../../../src/measure/journey/stage-tally.js';
import { settingsTo } from '../recorder-settings.js';

const sum = (series: readonly number[]): number => series.reduce((total, x) => total + x, 0);

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

/** Two that read the same lines, each soon after the other, which waits for what was sent for the first, watched or not. */
const SHARED = `
title: shared
platform: { preset: quad-core-fabric }
buffers:
  wide: { memory: ddr, size: 8 MiB }
masters:
  ahead: &reader { attach: coherent0, width: 64 bit, burst: 8 beats, operations: read, buffer: wide, issue: { process: periodic, block: 64 B, every: 400 ns, offset: 0 ns } }
  behind: { <<: *reader, issue: { process: periodic, block: 64 B, every: 400 ns, offset: 80 ns } }
run: { duration: 12 ms, warmup: 0 ns, replications: 1, drain: 10 us }
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
  ['shared', SHARED],
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
    expect(sample.stages!.followed).toBe(sample.blame!.charged);
    expect(sample.blame!.charged).toBeLessThan(0.5 * all.count);
    // latencies are those of all bursts; stages and charges within 1.5 % of them, with one seed for which this was seen
    const latency = sum(allBursts([stages!]).sumsPs);
    expect(sum(allBursts([sample.stages!]).sumsPs) / latency).toBeCloseTo(1, 12);
    for (const [stage, ps] of allBursts([stages!]).sumsPs.entries()) {
      expect(Math.abs(allBursts([sample.stages!]).sumsPs[stage]! - ps) / latency).toBeLessThan(0.015);
    }
    for (const { culprit, element, ps } of all.charges) {
      const same = sample.blame!.charges.find((one) => one.culprit === culprit && one.element === element);
      expect(Math.abs((same?.ps ?? 0) - ps) / latency).toBeLessThan(0.015);
    }
  }
});
