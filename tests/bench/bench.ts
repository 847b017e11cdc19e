/**
 * Speed of fixed loads: bursts and events per second on one core, the event counts asserted so that a faster number is
 * the same work. `npm run bench`, `npm run bench -- --json FILE`, `npm run bench -- --rounds N NAME…`.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import type { Simulation as SimulationType } from '../../src/model/simulation.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';

// what users run is the build, and code translated on the fly is slower
const DIST = new URL('../../dist/', import.meta.url);
const { Recorder, Simulation, readScenario } = (await import(
  new URL('index.js', DIST).href
)) as typeof import('../../src/index.js');

const LOADS = {
  ladder: './loads/ladder.yaml',
  'saturated-ddr': './loads/saturated-ddr.yaml',
  demonstration: '../../scenarios/grain-sorter.yaml',
  '64-masters': './loads/64-masters.yaml',
} as const;
const EXPECTED = new URL('./expected-events.json', import.meta.url);

interface Figures {
  bursts_per_s: number;
  events_per_s: number;
  ns_per_event: number;
  peak_mb: number;
}

const { values, positionals } = parseArgs({
  options: { json: { type: 'string' }, rounds: { type: 'string', default: '3' } },
  allowPositionals: true,
});
const expected = JSON.parse(readFileSync(EXPECTED, 'utf8')) as Record<string, number>;
const names = Object.keys(LOADS) as (keyof typeof LOADS)[];
const loads: Record<string, Figures> = {};
if (positionals.length === 1) {
  const name = names.find((candidate) => candidate === positionals[0]);
  if (name === undefined) throw new Error(`unknown load ${positionals[0]}; known: ${names.join(', ')}`);
  loads[name] = measure(name, systemOf(LOADS[name]), Number(values.rounds));
  if (process.env['UPDATE'] === '1') writeFileSync(EXPECTED, `${JSON.stringify(expected, null, 2)}\n`);
} else {
  console.log(
    `${cpus().length} cores, ${cpus()[0]!.model}, Node ${process.version}; one core used, best of ${values.rounds}`,
  );
  for (const name of positionals.length > 0 ? names.filter((one) => positionals.includes(one)) : names) {
    loads[name] = measuredApart(name);
  }
}
if (values.json !== undefined) writeFileSync(values.json, `${JSON.stringify({ loads }, null, 2)}\n`);

/** A load in a process of its own: in one process the loads would share compiled code and slow each other. */
function measuredApart(name: string): Figures {
  const folder = mkdtempSync(join(tmpdir(), 'bench-'));
  const file = join(folder, 'figures.json');
  const script = fileURLToPath(import.meta.url);
  const args = [...process.execArgv, script, name, '--rounds', values.rounds, '--json', file];
  execFileSync(process.execPath, args, { stdio: 'inherit' });
  const figures = (JSON.parse(readFileSync(file, 'utf8')) as { loads: Record<string, Figures> }).loads[name]!;
  rmSync(folder, { recursive: true });
  return figures;
}

function systemOf(file: string): SystemSpec {
  const url = new URL(file, import.meta.url);
  const readFile = (path: string): Uint8Array => readFileSync(new URL(path, url));
  return readScenario(readFileSync(url), file, { readFile }).systems[0]!;
}

function measure(name: string, system: SystemSpec, rounds: number): Figures {
  let best = Infinity;
  let bursts = 0;
  let events = 0;
  let peak = 0;
  for (let round = 0; round <= rounds; round++) {
    globalThis.gc?.();
    const { seconds, simulation } = timed(system);
    peak = Math.max(peak, process.memoryUsage().rss);
    bursts = simulation.context.tally.completedBursts;
    events = simulation.context.calendar.handled;
    // the first round warms the compiler up
    if (round > 0) best = Math.min(best, seconds);
  }
  if (process.env.UPDATE === '1') expected[name] = events;
  if (expected[name] !== events) throw new Error(`${name}: ${events} events, expected ${expected[name]}`);
  const figures = {
    bursts_per_s: Math.round(bursts / best),
    events_per_s: Math.round(events / best),
    ns_per_event: Math.round((best * 1e10) / events) / 10,
    peak_mb: Math.round(peak / 1e6),
  };
  const cells = [
    `${figures.bursts_per_s} bursts/s`,
    `${figures.events_per_s} events/s`,
    `${figures.ns_per_event} ns/event`,
    `${figures.peak_mb} MB`,
  ];
  console.log(
    `${name.padEnd(16)} ${cells.map((cell) => cell.padStart(18)).join('')}  ${bursts} bursts, ${events} events`,
  );
  return figures;
}

function timed(system: SystemSpec): { seconds: number; simulation: SimulationType } {
  const { durationPs, drainPs, seed } = system.run;
  const warmupPs = system.run.warmupPs ?? 0;
  const recorder = new Recorder(system, {
    fromPs: warmupPs,
    toPs: warmupPs + durationPs,
    batched: false,
    keepAtMost: 0,
    limits: new Map(),
    overCapacity: new Set(),
  });
  const simulation = new Simulation(system, { seed, replication: 1, warmupPs, durationPs, drainPs, probe: recorder });
  recorder.watch(simulation);
  const start = performance.now();
  simulation.run();
  return { seconds: (performance.now() - start) / 1000, simulation };
}
