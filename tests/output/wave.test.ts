import { describe, expect, it } from 'vitest';
import { BurstLog } from '../../src/measure/logs/burst-log.js';
import { CommandLog, COMMAND_NAMES } from '../../src/measure/logs/command-log.js';
import { LoggingRecorder } from '../../src/measure/logs/logging-recorder.js';
import { WaveLog } from '../../src/measure/logs/wave-log.js';
import { Simulation } from '../../src/model/simulation.js';
import { Clock } from '../../src/engine/clock.js';
import { randomStream } from '../../src/engine/random.js';
import { valueChangeDump } from '../../src/output/wave.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { buffer, device, master, system, trace } from '../model/platform.js';
import { MOBILE, parse } from '../scenarios/shipped.js';
import { studyNow } from '../study/study-now.js';
import { readDump, valueAt, type Dump } from './value-changes.js';
import { settingsTo } from '../measure/recorder-settings.js';

/** An unclocked server of 10 ns; a wants two bursts at 5 ns, b one at 7 ns: served from 5, 15 and 25 ns. */
const SERVER: SystemSpec = system(
  [device('d-1'), device('d_1')],
  [buffer('x', 'd-1'), buffer('y', 'd_1')],
  [
    master('a', 'd-1', 'x', { clock: null, issue: trace([5000, 'read', 0, 64], [5000, 'read', 64, 64]) }),
    master('b', 'd-1', 'x', { clock: null, issue: trace([7000, 'read', 256, 32]) }),
    master('c', 'd_1', 'y', { clock: null, issue: trace([70_000, 'read', 256, 32]) }),
  ],
  [],
);

function dumpOf(spec: SystemSpec, fromPs: number, toPs: number): string {
  const waveLog = new WaveLog({ fromPs, toPs });
  const recorder = new LoggingRecorder(spec, settingsTo(50_000, 'off'), { waveLog });
  const options = { seed: '1', replication: 1, warmupPs: 0, durationPs: 50_000, drainPs: 0 };
  const simulation = new Simulation(spec, { ...options, probe: recorder });
  recorder.watch(simulation);
  simulation.run();
  return [...valueChangeDump(waveLog.waves())].join('');
}

const changesOf = (dump: Dump, path: string): number[][] =>
  dump.variables.get(path)!.changes.map(({ timePs, value }) => [timePs, value]);

describe('a value change dump', () => {
  it('shows what can be worked out by hand', () => {
    const dump = readDump(dumpOf(SERVER, 0, 40_000));
    expect([dump.timescale, dump.fromPs, dump.toPs]).toEqual(['1 ps', 0, 40_000]);
    expect(changesOf(dump, 'base.masters.a.reads_in_flight')).toEqual([
      [5000, 2],
      [15_000, 1],
      [25_000, 0],
    ]);
    expect(changesOf(dump, 'base.d_1.server_0.master')).toEqual([
      [5000, 1],
      [25_000, 2],
      [35_000, 0],
    ]);
    expect(changesOf(dump, 'base.d_1.server_0.busy')).toEqual([
      [5000, 1],
      [35_000, 0],
    ]);
    expect(changesOf(dump, 'base.d_1.queue')).toEqual([
      [5000, 1],
      [7000, 2],
      [15_000, 1],
      [25_000, 0],
    ]);
    expect(dump.comment).toContain('1 a, 2 b, 3 c');
  });

  it('begins with the values of the first instant', () => {
    const dump = readDump(dumpOf(SERVER, 7000, 20_000));
    const initial = (path: string): number => dump.variables.get(path)!.initial;
    expect(initial('base.d_1.queue')).toBe(2);
    expect(initial('base.d_1.server_0.master')).toBe(1);
    expect(initial('base.masters.b.reads_in_flight')).toBe(1);
    expect(changesOf(dump, 'base.d_1.queue')).toEqual([[15_000, 1]]);
  });

  it('tells names apart that the language of the dump writes alike', () => {
    const { variables } = readDump(dumpOf(SERVER, 0, 20_000));
    expect([...variables.keys()].filter((path) => path.endsWith('.queue'))).toEqual([
      'base.d_1.queue',
      'base.d_1_2.queue',
    ]);
  });
});

describe('the dump of a run', () => {
  const scenario = parse(MOBILE);
  const span = { fromPs: 150_000_000, toPs: 160_000_000 };
  const run = (shuffle?: () => number) => {
    const burstLog = new BurstLog({ paths: [], span, slowest: null });
    const commandLog = new CommandLog();
    const waveLog = new WaveLog(span);
    const logs = { burstLog, commandLog, waveLog };
    studyNow(scenario, { replications: 1 }, { ...logs, ...(shuffle === undefined ? {} : { shuffle }) });
    return { text: [...valueChangeDump(waveLog.waves())].join(''), burstLog, commandLog };
  };
  const { text, burstLog, commandLog } = run();
  const dump = readDump(text);

  it('has as many bursts in flight as the log of bursts, at each change', () => {
    const bursts = [...burstLog.rows('s')].filter((row) => row.acceptedPs !== null);
    let compared = 0;
    for (const { name } of scenario.systems[0]!.masters) {
      for (const operation of ['read', 'write']) {
        const own = bursts.filter((row) => row.master === name && row.operation === operation);
        const variable = dump.variables.get(`base.masters.${name}.${operation}s_in_flight`)!;
        // also the instant before each change
        for (const { timePs } of variable.changes.flatMap((change) => [change, { timePs: change.timePs - 1 }])) {
          const flying = own.filter((row) => row.acceptedPs! <= timePs && row.donePs > timePs).length;
          expect(valueAt(variable, timePs), `${name} ${operation} at ${timePs}`).toBe(flying);
          compared++;
        }
      }
    }
    expect(compared).toBeGreaterThan(1000);
  });

  it('has the DRAM commands of the log of commands', () => {
    const codes = new Map([...COMMAND_NAMES].map(([code, name]) => [name, code]));
    const rows = [...commandLog.rows('s')].filter(({ timePs }) => timePs >= span.fromPs && timePs < span.toPs);
    expect(rows.length).toBeGreaterThan(100);
    const ddr = scenario.systems[0]!.elements.find((element) => element.kind === 'ddr')!;
    const clock = new Clock('dram', ddr.timing.tckNumerator, ddr.timing.tckDenominator);
    const pathOf = (row: (typeof rows)[number]): string => {
      const bank = row.bank === null ? '' : `.bank_${row.bank}`;
      return `base.${row.memory}.channel_${row.channel}.rank_${row.rank}${bank}`;
    };
    const taken = new Set(rows.map((row) => `${pathOf(row)} ${row.timePs}`));
    for (const row of rows) {
      const path = pathOf(row);
      const nextPs = clock.at(clock.indexFrom(row.timePs) + 1);
      if (!taken.has(`${path} ${nextPs}`) && nextPs < span.toPs) {
        expect(valueAt(dump.variables.get(`${path}.command`)!, nextPs)).toBe(0);
      }
      expect(valueAt(dump.variables.get(`${path}.command`)!, row.timePs)).toBe(codes.get(row.command));
      if (row.command === 'activate') expect(valueAt(dump.variables.get(`${path}.row`)!, row.timePs)).toBe(row.row);
    }
    const shown = [...dump.variables.values()].filter(({ path }) => path.endsWith('.command'));
    const pulses = shown.flatMap(({ changes }) => changes).filter(({ value }) => value > 0);
    // commands of one bank that follow one another without a gap and are alike are one pulse
    expect(pulses.length).toBeLessThanOrEqual(rows.length);
    expect(pulses.length).toBeGreaterThan(0.9 * rows.length);
  });

  it('is taken wherever a master is named, and nowhere else', () => {
    for (const [path, busy] of dump.variables) {
      if (!path.endsWith('.busy')) continue;
      const holder = dump.variables.get(path.replace(/busy$/, 'master'))!;
      for (const { timePs, value } of [...busy.changes, ...holder.changes]) {
        expect(valueAt(busy, timePs) === 1, `${path} at ${timePs}, ${value}`).toBe(valueAt(holder, timePs) > 0);
      }
    }
  });

  it('is the same a second time, and in another order of the events', () => {
    expect(run().text === text).toBe(true);
    expect(run(randomStream('3', 1, 'shuffle', 'test')).text === text).toBe(true);
  });
});
