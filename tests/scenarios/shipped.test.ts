import seedrandom from 'seedrandom';
import { describe, expect, test } from 'vitest';
import { TABLES } from '../../src/measure/tables/columns.js';
import { poolStudy } from '../../src/measure/tables/pool.js';
import { type PlacementResult, studyWarnings } from '../../src/measure/results.js';
import { DdrController } from '../../src/model/dram/controller.js';
import { Probe } from '../../src/model/probe.js';
import type { RequestTable } from '../../src/model/request-table.js';
import { Simulation } from '../../src/model/simulation.js';
import { toCsv } from '../../src/output/csv.js';
import type { Scenario, SystemSpec } from '../../src/scenario/scenario.js';
import { checkSystem } from '../../src/study/check.js';
import { studyNow } from '../study/study-now.js';
import { MOBILE, parse, read, shipped, systemOf, textOf, withMasters, withRun } from './shipped.js';

const US = 1_000_000;
const LIMIT_MS = 120_000;
const ASSUMED = /^the numbers of preset [\w-]+ are assumed, after common practice; put in those of your chip$/;

/** The scenario with a run short enough for a test; the ladders, whose rungs come one after the other, get all of theirs. */
function shortened(scenario: Scenario): Scenario {
  const inTurn = scenario.systems.some(({ masters }) => masters.some(({ startPs }) => startPs > 0));
  if (inTurn) return withRun(scenario, { replications: 1 });
  return withRun(scenario, { replications: 2, warmupPs: 100 * US, durationPs: 200 * US, drainPs: 300 * US });
}

const demonstration = shortened(read('grain-sorter.yaml'));
const mobile = parse(MOBILE);

/** Bytes by master and direction (2 × master, plus 1 for writes); those of all bursts, fills too, by where they end. */
class Ledger extends Probe {
  readonly wantedBytes = new Map<number, number>();
  readonly movedBytes = new Map<number, number>();
  readonly doneBytes = new Map<number, number>();
  /** By element and direction, of every burst that came to its end there. */
  readonly endedBytes = new Map<string, number>();
  simulation!: Simulation;

  override requestWanted(master: number, write: boolean, requests: RequestTable, request: number): void {
    add(this.wantedBytes, 2 * master + Number(write), requests.bytes[request]!);
  }

  override moved(master: number, write: boolean, bytes: number): void {
    add(this.movedBytes, 2 * master + Number(write), bytes);
  }

  override completed(slot: number): void {
    const { context, model } = this.simulation;
    const { bursts } = context;
    const bytes = bursts.bytes[slot]!;
    const write = bursts.op[slot]!;
    const end = model.elements[bursts.routes[slot]!.hops.at(-1)!.element]!.base.name;
    add(this.endedBytes, `${end} ${write}`, bytes);
    if (bursts.number[slot]! >= 0) add(this.doneBytes, 2 * bursts.master[slot]! + write, bytes);
  }
}

function add<K>(sums: Map<K, number>, key: K, bytes: number): void {
  sums.set(key, (sums.get(key) ?? 0) + bytes);
}

/** Runs a system whose masters stop early enough for all that they wanted to be back within the window. */
function runDry(system: SystemSpec): { ledger: Ledger; simulation: Simulation } {
  const lengthPs = Math.max(300 * US, ...system.masters.map(({ startPs }) => startPs + 50 * US));
  const masters = withMasters(system, (master) => ({ ...master, stopPs: Math.min(master.stopPs, lengthPs) }));
  const stopping = { ...masters, tasks: system.tasks.map((task) => ({ ...task, stopPs: lengthPs })) };
  const ledger = new Ledger();
  const options = { seed: '3', replication: 1, warmupPs: 0, durationPs: lengthPs + 2000 * US, drainPs: 0 };
  const simulation = new Simulation(stopping, { ...options, probe: ledger });
  ledger.simulation = simulation;
  simulation.run();
  return { ledger, simulation };
}

/** All that a study found, without how many events it took: an order may need one more or less. */
function foundBy(scenario: Scenario, shuffle?: () => number): string {
  const study = studyNow(scenario, {}, shuffle === undefined ? {} : { shuffle });
  return JSON.stringify({ ...study, placements: study.placements.map(withoutEvents) });
}

const withoutEvents = ({ replications, ...rest }: PlacementResult): object => ({
  ...rest,
  replications: replications.map((replication) => ({ ...replication, events: 0 })),
});

function csvOf(scenario: Scenario, shuffle?: () => number): string[] {
  const study = studyNow(scenario, {}, shuffle === undefined ? {} : { shuffle });
  const tables = poolStudy(study, { distributionOfEach: true });
  return [
    toCsv(TABLES.latency, tables.latency),
    toCsv(TABLES.distribution, tables.distribution),
    toCsv(TABLES.resources, tables.resources),
    toCsv(TABLES.memory, tables.memory),
    toCsv(TABLES.cache, tables.cache),
    toCsv(TABLES.tasks, tables.tasks),
  ];
}

test('scenarios are shipped', () => {
  expect(shipped).toEqual(
    expect.arrayContaining([
      'bandwidth-ladder.yaml',
      'control-loop.yaml',
      'grain-sorter.yaml',
      'latency-ladder.yaml',
      'loom-watch.yaml',
      'ring-size.yaml',
    ]),
  );
});

describe.each(shipped)('%s', (file) => {
  test('begins with a comment that says what question it answers and what to look for', () => {
    const comment = /^(?:#[^\n]*\n)+/.exec(textOf(file))?.[0] ?? '';
    expect(comment).toMatch(/^# Question: .*\?/s);
    expect(comment).toMatch(/^# What to look for: /m);
  });

  test('has a title, and nothing to warn of but that the numbers of its preset are assumed', () => {
    const scenario = read(file);
    expect(scenario.title).not.toBe(scenario.name);
    for (const note of scenario.notes) expect(note).toMatch(ASSUMED);
    expect(scenario.systems.flatMap((system) => checkSystem(system).warnings)).toEqual([]);
  });

  test(
    'runs in every placement without a warning, and something comes back on every path',
    () => {
      const study = studyNow(shortened(read(file)));
      for (const { text } of studyWarnings(study)) expect(text).toMatch(ASSUMED);
      const paths = study.placements.flatMap(({ placement, replications }) =>
        replications.flatMap((replication) => replication.paths.map((path) => ({ placement, ...path }))),
      );
      for (const { placement, master, operation, bytes } of paths) {
        expect(bytes, `${placement}: ${master} ${operation}`).toBeGreaterThan(0);
      }
    },
    LIMIT_MS,
  );

  test.each(read(file).systems.map(({ placement }) => placement))(
    'conserves bytes in placement %s: wanted, moved and done are equal, and so are what memory moved and what ended there',
    (placement) => {
      const { ledger, simulation } = runDry(systemOf(read(file), placement));
      const { tally } = simulation.context;
      expect(tally.completedBursts).toBe(tally.issuedBursts);
      expect(tally.issuedBursts).toBeGreaterThan(100);
      expect(simulation.context.bursts.inFlight).toBe(0);
      expect([...(simulation.model.tasks?.open() ?? [])]).toEqual([]);
      expect(Object.fromEntries(ledger.doneBytes)).toEqual(Object.fromEntries(ledger.wantedBytes));
      expect(Object.fromEntries(ledger.movedBytes)).toEqual(Object.fromEntries(ledger.wantedBytes));
      const drams = simulation.model.elements.filter((element) => element instanceof DdrController);
      for (const { base, dram } of drams) {
        const moved = (pick: 'readBytes' | 'writeBytes'): number => dram.reduce((sum, { use }) => sum + use[pick], 0);
        expect(moved('readBytes')).toBe(ledger.endedBytes.get(`${base.name} 0`) ?? 0);
        expect(moved('writeBytes')).toBe(ledger.endedBytes.get(`${base.name} 1`) ?? 0);
      }
    },
    LIMIT_MS,
  );
});

describe.each([
  ['a shortened demonstration', demonstration],
  ['mixed traffic on the second preset', mobile],
])('%s', (_title, scenario) => {
  test(
    'gives the same bytes in every table when it is run again, and when the order within each phase is shuffled',
    () => {
      const first = csvOf(scenario);
      expect(first[0]!.split('\r\n').length).toBeGreaterThan(20);
      expect(csvOf(scenario)).toEqual(first);
      expect(csvOf(scenario, seedrandom.xor4096('a'))).toEqual(first);
      // also what no table shows
      expect(foundBy(scenario, seedrandom.xor4096('b'))).toBe(foundBy(scenario));
    },
    LIMIT_MS,
  );

  test(
    'gives other bytes with another seed',
    () => {
      expect(csvOf(withRun(scenario, { seed: 'another' }))).not.toEqual(csvOf(scenario));
    },
    LIMIT_MS,
  );

  test.each(scenario.systems.map(({ placement }) => placement))(
    'holds no more bursts in memory when it runs four times as long, in placement %s',
    (placement) => {
      const slots = (times: number): number => {
        const options = { seed: '1', replication: 1, warmupPs: 0, durationPs: times * 300 * US, drainPs: 0 };
        const simulation = new Simulation(systemOf(scenario, placement), options);
        simulation.run();
        return simulation.context.bursts.routes.length;
      };
      expect(slots(4)).toBe(slots(1));
    },
    LIMIT_MS,
  );
});
