import { readdirSync, readFileSync } from 'node:fs';
import { readScenario } from '../../src/scenario/read.js';
import type { MasterSpec, RunSpec, Scenario, SystemSpec } from '../../src/scenario/scenario.js';

/** The folder of the scenarios that come with the program. */
const FOLDER = new URL('../../scenarios/', import.meta.url);

/** File names of the shipped scenarios, in order of their code units. */
export const shipped = readdirSync(FOLDER)
  .filter((name) => name.endsWith('.yaml'))
  .toSorted((a, b) => (a < b ? -1 : 1));

export const textOf = (file: string): string => readFileSync(new URL(file, FOLDER), 'utf8');

/** Reads a shipped scenario by its file name. */
export const read = (file: string): Scenario =>
  readScenario(textOf(file), file, { readFile: (name) => readFileSync(new URL(name, FOLDER)) });

/** Reads a scenario that is written out in a test. */
export function parse(text: string, file = 'inline.yaml'): Scenario {
  return readScenario(text, file, {
    readFile: (name) => {
      throw new Error(`no file ${name}`);
    },
  });
}

/** The scenario with other run settings in all of its placements. */
export function withRun(scenario: Scenario, run: Partial<RunSpec>): Scenario {
  return { ...scenario, systems: scenario.systems.map((system) => ({ ...system, run: { ...system.run, ...run } })) };
}

export function systemOf(scenario: Scenario, placement: string): SystemSpec {
  const found = scenario.systems.find((system) => system.placement === placement);
  if (found === undefined) throw new Error(`no placement ${placement}`);
  return found;
}

/** The system with some masters altered. */
export function withMasters(system: SystemSpec, alter: (master: MasterSpec) => MasterSpec): SystemSpec {
  return { ...system, masters: system.masters.map(alter) };
}

/**
 * Traffic on the second preset: both switches in a row, both channels, the coherence unit in both ways, a device and the
 * memory on the chip.
 */
export const MOBILE = `
title: the second preset under mixed traffic
platform: { preset: eight-port-mobile }
buffers:
  stream: { memory: ddr, size: 2 MiB, cached: no }
  shared: { memory: ddr, size: 256 KiB }
  near: { memory: scratch, size: 64 KiB, cached: no }
  box: { memory: mailbox, size: 4 KiB, cached: no }
masters:
  puller: { attach: edge0, burst: 16 beats, outstanding: 4, operations: read, buffer: stream, addresses: random, issue: { process: poisson, rate: 400 MB/s } }
  pusher: { attach: edge3, burst: 32 beats, outstanding: 4, operations: write, buffer: stream, issue: { process: poisson, rate: 300 MB/s } }
  greedy: { attach: edge5, burst: 8 beats, outstanding: 2, operations: { read_share: 50 % }, buffer: near, addresses: random, issue: greedy }
  snooping: { attach: snooped0, burst: 4 beats, outstanding: 4, operations: { read_share: 60 % }, buffer: shared, addresses: random, issue: { process: poisson, rate: 300 MB/s } }
  poster: { attach: edge7, burst: 1 beats, operations: write, buffer: box, issue: { process: poisson, every: 2 us } }
  worker: { core: yes, size: 8 B, operations: { read_share: 70 % }, buffer: shared, addresses: { pattern: zipf, exponent: 0.8 }, issue: { process: dependent, think: { exponential: { mean: 15 ns } } } }
  signal: { core: yes, size: 8 B, operations: { read_share: 50 % }, buffer: near, addresses: random, issue: { process: poisson, every: 1 us } }
run: { seed: 7, replications: 2, warmup: 100 us, duration: 300 us, drain: 200 us }
`;
