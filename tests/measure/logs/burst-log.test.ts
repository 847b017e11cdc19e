import { describe, expect, it } from 'vitest';
import { BurstLog, type BurstChoice } from '../../../src/measure/logs/burst-log.js';
import { LoggingRecorder } from '../../../src/measure/logs/logging-recorder.js';
import { poolStudy } from '../../../src/measure/tables/pool.js';
import type { BurstRow } from '../../../src/measure/tables/rows.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { Scenario } from '../../../src/scenario/scenario.js';
import { randomStream } from '../../../src/engine/random.js';
import { TINY } from '../../cli/rig.js';
import { buffer, device, master, system, trace } from '../../model/platform.js';
import { MOBILE, parse, withRun } from '../../scenarios/shipped.js';
import { studyNow } from '../../study/study-now.js';
import { settingsTo } from '../recorder-settings.js';

const ALL: BurstChoice = { paths: [], span: null, slowest: null };

function logOf(
  scenario: Scenario,
  choice: Partial<BurstChoice> = {},
  cap?: number,
  shuffle?: () => number,
): BurstRow[] {
  const burstLog = new BurstLog({ ...ALL, ...choice }, cap);
  studyNow(scenario, { replications: 1 }, { burstLog, ...(shuffle === undefined ? {} : { shuffle }) });
  return [...burstLog.rows(scenario.name)];
}

it('says of each burst where its time went, and whom it waited for', () => {
  // an unclocked server of 10 ns: a wants two bursts at 5 ns, b one at 7 ns, which waits for both of a's
  const plain = system(
    [device('d')],
    [buffer('x', 'd')],
    [
      master('a', 'd', 'x', {
        clock: null,
        issue: trace([5000, 'read', 0, 64], [5000, 'read', 64, 64]),
      }),
      master('b', 'd', 'x', { clock: null, issue: trace([7000, 'read', 256, 32]) }),
    ],
    [],
  );
  const burstLog = new BurstLog(ALL);
  const recorder = new LoggingRecorder(plain, settingsTo(50_000, 'blame'), { burstLog });
  const options = { seed: '1', replication: 1, warmupPs: 0, durationPs: 50_000, drainPs: 0 };
  const simulation = new Simulation(plain, { ...options, probe: recorder });
  recorder.watch(simulation);
  simulation.run();
  const rows = [...burstLog.rows('s')];
  const told = rows.map((row) => [row.master, row.number, row.address, row.bytes, row.wantedPs, row.donePs]);
  expect(told).toEqual([
    ['a', 0, 0, 64, 5000, 15_000],
    ['a', 1, 64, 64, 5000, 25_000],
    ['b', 0, 256, 32, 7000, 35_000],
  ]);
  expect(rows.map((row) => [row.longestWaitPs, row.waitsFor, row.waitsAt])).toEqual([
    [0, null, null],
    [10_000, '(itself)', 'd'],
    [18_000, 'a', 'd'],
  ]);
  // memory_queue is the seventh stage, data the ninth
  expect(rows[2]!.stagesPs).toEqual([0, 0, 0, 0, 0, 0, 18_000, 0, 10_000, 0, 0, 0]);
  expect([rows[2]!.offeredPs, rows[2]!.acceptedPs]).toEqual([7000, 7000]);
});

describe('the bursts of a run', () => {
  const scenario = parse(MOBILE);
  const rows = logOf(scenario);

  it('are those of latency.csv, and their stages add up', () => {
    const { latency } = poolStudy(studyNow(scenario, { replications: 1 }));
    for (const path of latency.filter(({ level, replication }) => level === 'burst' && replication === 1)) {
      const own = rows.filter((row) => row.master === path.master && row.operation === path.operation);
      expect(own).toHaveLength(path.count);
      const latencies = own.map((row) => row.donePs - row.wantedPs);
      expect([Math.min(...latencies), Math.max(...latencies)]).toEqual([path.minPs, path.maxPs]);
    }
    for (const { stagesPs, donePs, wantedPs, longestWaitPs } of rows) {
      expect(stagesPs!.reduce((sum, ps) => sum + ps, 0)).toBe(donePs - wantedPs);
      expect(longestWaitPs).toBeLessThanOrEqual(donePs - wantedPs);
    }
    // hits in the core's own cache were never presented
    expect(new Set(rows.filter(({ offeredPs }) => offeredPs === null).map((row) => row.master))).toEqual(
      new Set(['worker']),
    );
  });

  it('can be those of a master or of a path only', () => {
    const some = logOf(scenario, { paths: ['puller', 'greedy write'] });
    expect(some).toEqual(
      rows.filter((row) => row.master === 'puller' || (row.master === 'greedy' && row.operation === 'write')),
    );
  });

  it('can be those in flight in a span of time, whenever they were wanted', () => {
    const span = { fromPs: 150_000_000, toPs: 151_000_000 };
    const some = logOf(scenario, { span });
    expect(some).toEqual(rows.filter((row) => row.wantedPs < span.toPs && row.donePs >= span.fromPs));
    expect(some.length).toBeGreaterThan(10);
    const early = logOf(scenario, { span: { fromPs: 0, toPs: 100_000_000 } });
    expect(early.every((row) => row.wantedPs < 100_000_000)).toBe(true);
    expect(early.length).toBeGreaterThan(100);
  });

  it('can be the slowest only', () => {
    const latency = (row: BurstRow): number => row.donePs - row.wantedPs;
    for (const slowest of [1, 10, 37]) {
      const expected = rows.toSorted((a, b) => latency(b) - latency(a)).slice(0, slowest);
      const found = logOf(scenario, { slowest });
      expect(found.map(latency).toSorted((a, b) => b - a)).toEqual(expected.map(latency));
      expect(found.map((row) => row.wantedPs)).toEqual(found.map((row) => row.wantedPs).toSorted((a, b) => a - b));
    }
  });

  it('are the first wanted where there are too many, in any order of events', () => {
    expect(logOf(scenario, {}, 500)).toEqual(rows.slice(0, 500));
    const random = randomStream('7', 1, 'shuffle', 'test');
    expect(logOf(scenario, {}, 500, random)).toEqual(rows.slice(0, 500));
  });
});

it('a log warns of what it leaves out, and where there is nothing to show', () => {
  const scenario = parse(TINY);
  const of = (choice: Partial<BurstChoice>, cap?: number, journeys: 'blame' | 'off' = 'blame') => {
    const log = new BurstLog({ ...ALL, ...choice }, cap);
    studyNow(withRun(scenario, { journeys }), { placements: ['direct'], replications: 1 }, { burstLog: log });
    return { rows: [...log.rows('tiny')], warnings: log.warnings().map(({ text }) => text) };
  };
  const { length } = of({}).rows;
  expect(of({}, 5).warnings).toEqual([
    `placement direct: bursts.csv holds the first 5 of ${length} bursts; choose fewer with --bursts-of, --bursts-between or --bursts-slowest`,
  ]);
  expect(of({ slowest: 5 }).warnings).toEqual([]);
  expect(of({ slowest: 6 }, 5).warnings[0]).toContain(`holds the slowest 5 of ${length} bursts`);
  expect(of({ span: { fromPs: 1e12, toPs: 2e12 } }).warnings).toEqual([
    'placement direct: no burst is what bursts.csv asks for',
  ]);
  const off = of({}, undefined, 'off');
  expect(off.warnings).toEqual(['bursts.csv has no stages, as run.journeys is off']);
  expect([off.rows[0]!.stagesPs, off.rows[0]!.longestWaitPs, off.rows[0]!.waitsFor]).toEqual([null, null, null]);
});
