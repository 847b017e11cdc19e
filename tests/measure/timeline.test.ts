import { describe, expect, it } from 'vitest';
import { Recorder } from '../../src/measure/recorder.js';
import { poolStudy } from '../../src/measure/tables/pool.js';
import { Timeline, timelineWidth } from '../../src/measure/timeline.js';
import { Simulation } from '../../src/model/simulation.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { buffer, clock, device, master, onChip, port, system, trace } from '../model/platform.js';
import { parse, read, withRun } from '../scenarios/shipped.js';
import { studyNow } from '../study/study-now.js';
import { TINY } from '../cli/rig.js';
import { settingsTo } from './recorder-settings.js';

/** A simulation that is never run: what its timeline is told comes from the test. */
function told(spec: SystemSpec, widthPs: number): { timeline: Timeline; simulation: Simulation } {
  const options = { seed: '1', replication: 1, warmupPs: 1000, durationPs: spec.run.durationPs, drainPs: 0 };
  const simulation = new Simulation(spec, options);
  return { timeline: new Timeline(simulation, spec, widthPs), simulation };
}

const ONE = (durationPs: number): SystemSpec => {
  const plain = system(
    [port('p', ['m']), onChip('m')],
    [buffer('b', 'm')],
    [master('dma', 'p', 'b', { clock: 'odd', widthBytes: 8 })],
    [clock('fabric', 5000), clock('bus', 2500), { name: 'odd', numerator: 301, denominator: 3 }],
  );
  return { ...plain, run: { ...plain.run, durationPs } };
};

describe('a timeline', () => {
  it('puts each beat into the window in which it moves, also of a burst that spans several', () => {
    const { timeline } = told(ONE(1000), 200);
    // a period of 100 1/3 ps: 27 bytes at edges 13 to 16, at 1304, 1405, 1505 and 1605; windows from 1000, 200 ps each
    timeline.moved(0, false, 27, 1304, 3);
    timeline.moved(0, true, 8, 1199, 8);
    timeline.moved(0, true, 8, 1200, 8);
    const { windows } = timeline.toPlain().masters[0]!;
    expect(windows.map(({ readBytes }) => readBytes)).toEqual([0, 3, 16, 8, 0]);
    expect(windows.map(({ writeBytes }) => writeBytes)).toEqual([8, 8, 0, 0, 0]);
  });

  it('counts a burst in the window in which it was wanted', () => {
    const { timeline } = told(ONE(1000), 400);
    timeline.done(0, 5000, 1399);
    timeline.done(0, 7000, 1000);
    timeline.done(0, 9, 1400);
    const { windows } = timeline.toPlain().masters[0]!;
    expect(windows.map(({ bursts, sumPs, maxPs }) => [bursts, sumPs, maxPs])).toEqual([
      [2, 12_000, 7000],
      [1, 9, 9],
      [0, 0, 0],
    ]);
  });

  it('keeps sums beyond 2^53 to what a double holds', () => {
    const { timeline } = told(ONE(1000), 1000);
    for (let i = 0; i < 6; i++) timeline.done(0, 2 ** 51 + 1, 1000);
    expect(timeline.toPlain().masters[0]!.windows[0]!.sumPs).toBe(6 * 2 ** 51 + 6);
  });
});

it('a run’s windows hold what can be worked out by hand', () => {
  // an unclocked server of 10 ns and a master that wants three bursts at once at 5 ns and one at 41 ns: one is served until
  // 15, 25, 35, and the last until 51; waiting are 2 until 15, 1 until 25
  const lines = [5000, 5000, 5000, 41_000].map((at, i) => [at, 'read', 64 * i, 64] as const);
  const plain = system(
    [device('d')],
    [buffer('b', 'd')],
    [master('dma', 'd', 'b', { clock: null, maxReads: 8, issue: trace(...lines) })],
    [],
  );
  const spec = { ...plain, run: { ...plain.run, durationPs: 55_000 } };
  const recorder = new Recorder(spec, settingsTo(55_000, 'off', { timelinePs: 20_000 }));
  const simulation = new Simulation(spec, {
    seed: '1',
    replication: 1,
    warmupPs: 0,
    durationPs: 55_000,
    drainPs: 0,
    probe: recorder,
  });
  recorder.watch(simulation);
  simulation.run();
  const { masters, queues } = recorder.result(1).timeline!;
  // bytes of a read come with its answer, at 15, 25, 35 and 51 ns; latencies of 10, 20, 30 and 10 ns
  expect(masters[0]!.windows.map(({ readBytes }) => readBytes)).toEqual([64, 128, 64]);
  expect(masters[0]!.windows.map(({ bursts, sumPs, maxPs }) => [bursts, sumPs, maxPs])).toEqual([
    [3, 60_000, 30_000],
    [0, 0, 0],
    [1, 10_000, 10_000],
  ]);
  expect(queues).toEqual([
    {
      element: 'd',
      windows: [
        { areaPs: 2 * 10_000 + 5000, peak: 2 },
        { areaPs: 5000, peak: 1 },
        { areaPs: 0, peak: 0 },
      ],
    },
  ]);
});

describe('the width of its windows', () => {
  it('is as stated, or 1 us doubled until there are at most 1,024', () => {
    expect(timelineWidth(12_345, 1e9)).toBe(12_345);
    expect(timelineWidth('off', 1e9)).toBeNull();
    expect(timelineWidth('automatic', 1)).toBe(1e6);
    expect(timelineWidth('automatic', 1024e6)).toBe(1e6);
    expect(timelineWidth('automatic', 1024e6 + 1)).toBe(2e6);
    expect(timelineWidth('automatic', 2.5e9)).toBe(4e6);
  });

  it('doubled is two neighbours merged', () => {
    const scenario = parse(TINY);
    const of = (timeline: number) =>
      studyNow(withRun(scenario, { timeline })).placements[0]!.replications[0]!.timeline!;
    const fine = of(500_000);
    const wide = of(1_000_000);
    const pairs = <T>(windows: readonly T[]): [T, T][] =>
      Array.from({ length: windows.length / 2 }, (_, i) => [windows[2 * i]!, windows[2 * i + 1]!]);
    expect(wide.masters[0]!.windows).toEqual(
      pairs(fine.masters[0]!.windows).map(([a, b]) => ({
        readBytes: a.readBytes + b.readBytes,
        writeBytes: a.writeBytes + b.writeBytes,
        bursts: a.bursts + b.bursts,
        sumPs: a.sumPs + b.sumPs,
        maxPs: Math.max(a.maxPs, b.maxPs),
      })),
    );
    expect(wide.queues).toEqual(
      fine.queues.map(({ element, windows }) => ({
        element,
        windows: pairs(windows).map(([a, b]) => ({ areaPs: a.areaPs + b.areaPs, peak: Math.max(a.peak, b.peak) })),
      })),
    );
  });
});

describe('timeline.csv and queues.csv', () => {
  const scenario = withRun(read('grain-sorter.yaml'), {
    replications: 2,
    durationPs: 100_000_000,
    warmupPs: 50_000_000,
    timeline: 30_000_000,
  });
  const study = studyNow(scenario);
  const tables = poolStudy(study);

  it('are of the first replication, from the start of the measuring window to its end', () => {
    expect(new Set(tables.timeline.map(({ replication }) => replication))).toEqual(new Set([1]));
    expect([...new Set(tables.queues.map(({ startPs }) => startPs))]).toEqual([50e6, 80e6, 110e6, 140e6]);
    const perWindow = scenario.systems[0]!.masters.length;
    expect(tables.timeline).toHaveLength(4 * perWindow * scenario.systems.length);
  });

  it('add up to what latency.csv and resources.csv say, the shorter last window as long as it is', () => {
    const seconds = (startPs: number): number => Math.min(30e6, 150e6 - startPs) / 1e12;
    for (const { placement } of study.placements) {
      for (const { name } of scenario.systems[0]!.masters) {
        const rows = tables.timeline.filter((row) => row.placement === placement && row.master === name);
        const moved = (operation: 'read' | 'write'): number =>
          rows.reduce((sum, row) => {
            const rate = operation === 'read' ? row.readBytesPerS : row.writeBytesPerS;
            return sum + rate * seconds(row.startPs);
          }, 0);
        for (const path of tables.latency) {
          if (path.placement !== placement || path.master !== name || path.replication !== 1) continue;
          if (path.level === 'burst') expect(moved(path.operation)).toBeCloseTo(path.bytes, 6);
        }
      }
      for (const row of tables.resources) {
        if (row.placement !== placement || row.replication !== 1 || row.meanQueue === 0) continue;
        const windows = tables.queues.filter((one) => one.placement === placement && one.element === row.element);
        const mean = windows.reduce((sum, one) => sum + one.meanDepth * seconds(one.startPs), 0) / 100e-6;
        expect(mean).toBeCloseTo(row.meanQueue!, 9);
        expect(Math.max(...windows.map(({ maxDepth }) => maxDepth))).toBe(row.maxQueue);
      }
    }
  });

  it('are empty where the timeline is off', () => {
    const off = poolStudy(studyNow(withRun(parse(TINY), { timeline: 'off' })));
    expect([off.timeline, off.queues]).toEqual([[], []]);
  });
});
