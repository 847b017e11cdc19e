import { expect, test } from 'vitest';
import * as burstyard from '../src/index.js';
import { TINY } from './cli/rig.js';

const { readScenario, checkSystem, runStudy, poolStudy, TABLES, toCsv, summary, manifestText } = burstyard;

const noFiles = {
  readFile: (name: string): never => {
    throw new Error(`asks for ${name}`);
  },
};

test('a study goes from text to tables through the package alone', async () => {
  const scenario = readScenario(TINY, 'tiny.yaml', noFiles);
  const study = await runStudy(scenario, { placements: ['direct'], version: 'of a test' });
  const tables = poolStudy(study);
  const rows = toCsv(TABLES.latency, tables.latency).trimEnd().split('\r\n');
  expect(rows[0]!.split(',').slice(0, 4)).toEqual(['scenario', 'placement', 'replication', 'master']);
  expect(rows.some((row) => row.startsWith('tiny,direct,all,reader,fabric0,ddr,read,burst,'))).toBe(true);
  expect(summary(study, tables)).toContain('tiny, placement direct');
});

test('a system is checked without simulating', () => {
  const [system] = readScenario(TINY, 'tiny.yaml', noFiles).systems;
  const report = checkSystem(system!);
  expect(report.placement).toBe('direct');
  expect(burstyard.checkText(readScenario(TINY, 'tiny.yaml', noFiles), [report], burstyard.PLAIN)).toContain('fabric0');
});

test('a probe of the user sees the bursts of one replication', () => {
  const [system] = readScenario(TINY, 'tiny.yaml', noFiles).systems;
  class Counter extends burstyard.Probe {
    count = 0;
    override completed(): void {
      this.count++;
    }
  }
  const probe = new Counter();
  const options = { seed: 'a', replication: 1, warmupPs: 0, durationPs: 20_000_000, drainPs: 20_000_000, probe };
  new burstyard.Simulation(system!, options).run();
  expect(probe.count).toBeGreaterThan(0);
});

test('the mistakes of a scenario come as an error with places', () => {
  const wrong = () => readScenario(TINY.replace('burst:', 'brust:'), 'tiny.yaml', noFiles);
  expect(wrong).toThrow(burstyard.ScenarioError);
  expect(wrong).toThrow('tiny.yaml:8:5');
});

test('a manifest is made from plain data', () => {
  const text = manifestText({
    version: '1',
    scenario: 'tiny',
    title: 'two ways of one reader',
    command: 'burstyard run tiny.yaml',
    scenarioText: TINY,
    platforms: [],
    scenarioFile: 'tiny.yaml',
    scenarioSha256: '00',
    placements: ['direct'],
    seed: '1',
    replications: 1,
    simulatedPs: 2_000,
    wallMs: 3,
    events: 4,
    warnings: [],
    notes: [],
  });
  expect(JSON.parse(text)).toMatchObject({ simulated_time_ns: 2, events: 4 });
});

test('clocks and the calendar can be used on their own', () => {
  const clock = new burstyard.Clock('bus', 10_000, 1);
  expect(clock.at(3)).toBe(30_000);
  expect(new burstyard.Calendar(null).empty).toBe(true);
});
