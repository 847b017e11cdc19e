import { describe, expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { TABLES } from '../../../src/measure/tables/columns.js';
import { COMMAND_NAMES, CommandLog } from '../../../src/measure/logs/command-log.js';
import { Command } from '../../../src/model/dram/command.js';
import { csvParts } from '../../../src/output/csv.js';
import { csvRows } from '../../../src/scenario/csv-rows.js';
import { readScenario } from '../../../src/scenario/read.js';
import type { DdrSpec, Scenario } from '../../../src/scenario/scenario.js';
import { runStudy } from '../../../src/study/run-study.js';
import { studyNow } from '../../study/study-now.js';
import { faultsOf, type Issued } from '../../validation/dram/legality.js';
import { gradeTimes } from '../../validation/dram/rule-times.js';

const MEMORY = { name: 'ddr', clock: new Clock('dram', 1250, 1), channels: 2 };

/** A log of two channels: an activate and a precharge of all banks on each, and a third command on channel 0. */
function sample(cap?: number): CommandLog {
  const log = new CommandLog(cap);
  log.begin('direct', 1, new Map([[7, MEMORY]]));
  for (const channel of [0, 1]) {
    log.add(7, channel, 1, 2, 9, 40, Command.activate, 100);
    log.add(7, channel, 1, 0, 0, -1, Command.prechargeAll, 128);
  }
  log.add(7, 0, 0, 0, 3, 5, Command.readAuto, 130);
  return log;
}

const texts = (log: CommandLog): string[] => {
  return [...csvParts(TABLES.commands, log.rows('s'))].join('').trimEnd().split('\r\n').slice(1);
};

test('rows stand by channel, in ns of the DRAM clock, and name no bank for commands to a whole rank', () => {
  expect(texts(sample())).toEqual([
    's,direct,1,ddr,0,125,1,2,9,40,activate',
    's,direct,1,ddr,0,160,1,,,,precharge_all',
    's,direct,1,ddr,0,162.5,0,0,3,5,read_auto',
    's,direct,1,ddr,1,125,1,2,9,40,activate',
    's,direct,1,ddr,1,160,1,,,,precharge_all',
  ]);
});

test('each channel keeps the first of its share of the cap, and a warning says how many there were', () => {
  const log = sample(5);
  expect(texts(log).map((row) => row.split(',').at(-1))).toEqual([
    'activate',
    'precharge_all',
    'activate',
    'precharge_all',
  ]);
  expect(log.warnings()).toEqual([
    { text: 'placement direct, ddr channel 0: the command log holds the first 2 of 3 commands', count: 1 },
  ]);
  expect(sample().warnings()).toEqual([]);
});

test('columns grow with what is kept', () => {
  const log = new CommandLog(5_000);
  log.begin('direct', 1, new Map([[0, { ...MEMORY, channels: 1 }]]));
  for (let clock = 0; clock < 6_000; clock++) log.add(0, 0, 0, 0, clock % 8, clock, Command.activate, clock);
  const rows = [...log.rows('s')];
  expect(rows).toHaveLength(5_000);
  expect(rows.every(({ row, bank, timePs }, n) => row === n && bank === n % 8 && timePs === n * 1250)).toBe(true);
  expect(log.warnings()[0]!.text).toContain('the first 5000 of 6000 commands');
});

const scenario = (preset: string, port: string): Scenario => {
  const text = `title: commands of a preset
platform: { preset: ${preset} }
buffers:
  samples: { memory: ddr, size: 1 MiB, cached: no }
masters:
  writer:
    attach: ${port}
    operations: write
    buffer: samples
    addresses: { pattern: random }
    issue: { process: poisson, rate: 200 MB/s }
  reader:
    attach: ${port}
    operations: read
    buffer: samples
    issue: { process: poisson, rate: 300 MB/s }
run: { seed: 1, replications: 2, duration: 100 us, warmup: 1 us }
placements:
  direct: {}
`;
  return readScenario(Buffer.from(text), 'preset.yaml', { readFile: () => '' });
};

test('a study warns of what its log cut off', async () => {
  const commandLog = new CommandLog(100);
  const study = await runStudy(scenario('quad-core-fabric', 'fabric0'), {
    placements: [],
    version: 'test',
    logs: { commandLog },
  });
  expect([...commandLog.rows('s')]).toHaveLength(100);
  const cut = study.warnings.map(({ text }) => text).filter((text) => text.includes('command log'));
  expect(cut).toHaveLength(1);
  expect(cut[0]).toMatch(/placement direct, ddr channel 0: the command log holds the first 100 of \d+ commands/u);
});

describe.each([
  ['quad-core-fabric', 'fabric0'],
  ['eight-port-mobile', 'edge0'],
])('the command log of %s', (preset, port) => {
  const study = scenario(preset, port);
  const ddr = study.systems[0]!.elements.find((element): element is DdrSpec => element.kind === 'ddr')!;
  const run = (): string => {
    const commandLog = new CommandLog();
    studyNow(study, { replications: 1 }, { commandLog });
    return [...csvParts(TABLES.commands, commandLog.rows(study.name))].join('');
  };
  const text = run();
  const rows = csvRows(text);

  test('holds the first replication only, and is the same each time', () => {
    expect(new Set(rows.map((row) => row.get('replication')))).toEqual(new Set(['1']));
    expect(rows.length).toBeGreaterThan(500);
    expect(run()).toBe(text);
  });

  test('is a legal one, as read from its CSV, up to the refreshes at the end', () => {
    const { grade, tckNumerator, tckDenominator, tREFIps, banks } = ddr.timing;
    const kinds = new Map([...COMMAND_NAMES].map(([kind, name]) => [name, kind]));
    const issued = (row: ReadonlyMap<string, string>): Issued => ({
      clock: Math.round((Number(row.get('time_ns')) * 1000 * tckDenominator) / tckNumerator),
      kind: kinds.get(row.get('command')!)!,
      rank: Number(row.get('rank')),
      group: Number(row.get('bank_group')),
      bank: Number(row.get('bank')),
      row: row.get('row') === '' ? -1 : Number(row.get('row')),
    });
    for (let channel = 0; channel < ddr.channels; channel++) {
      const log = rows.filter((row) => row.get('channel') === String(channel)).map((row) => issued(row));
      expect(faultsOf(log, gradeTimes(grade!))).toEqual([]);
      const { mode } = ddr.refresh;
      const refreshes = log.filter(({ kind }) => kind === Command.refresh || kind === Command.refreshBank);
      const interval = tREFIps / (mode === 'per_bank' ? banks : 1) / ddr.ranks;
      expect(refreshes.length).toBeGreaterThanOrEqual(Math.floor(101e6 / interval) - banks * ddr.refresh.postpone - 1);
    }
  });
});
