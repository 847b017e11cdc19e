import { describe, expect, it } from 'vitest';
import { Core } from '../../src/model/core.js';
import { CoherenceUnit } from '../../src/model/coherence/coherence-unit.js';
import { Simulation } from '../../src/model/simulation.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { warmUpNow } from '../../src/study/warm-up.js';
import { read } from '../scenario/reading.js';

const US = 1e6;

/** One core with an L1 of 128 lines and an L2 of 1,024. */
const system = (buffer: string, master: string, duration: string): SystemSpec =>
  read(`platform: { preset: quad-core-fabric, coherence: { cluster: { l2: { size: 64 KiB, ways: 16 } } } }
buffers:
  heap: { memory: ddr, size: ${buffer} }
masters:
  os: { core: { l1: { size: 8 KiB, ways: 4 } }, buffer: heap, size: 8 B, operations: read, ${master} }
run: { seed: 1, duration: ${duration}, drain: 1 ms, journeys: off }
`).systems[0]!;

const ZIPF = 'addresses: { pattern: zipf, exponent: 0.9, line: 64 B }';

/** Lookups per line of L1 and L2 in the first `untilPs` of the pilot, counted by a simulation of their own. */
function lookupsPerLine(spec: SystemSpec, untilPs: number): [l1: number, l2: number] {
  const simulation = new Simulation(spec, {
    seed: spec.run.seed,
    replication: 0,
    warmupPs: 0,
    durationPs: untilPs,
    drainPs: 0,
  });
  simulation.run();
  const { elements, masters } = simulation.model;
  const unit = elements.find((element) => element instanceof CoherenceUnit)!;
  const core = masters.find((master) => master instanceof Core)!;
  return [core.counts!.of(0).lookups / 128, unit.counts.of(0).lookups / 1024];
}

describe('the warm-up', () => {
  it.each([
    ['an open source', 'issue: { process: poisson, every: 50 ns }'],
    ['a closed source', 'issue: { process: dependent, think: { exponential: { mean: 30 ns } } }'],
  ])('gives every cache four lookups per line, with %s', (_, issue) => {
    const spec = system('4 MiB', `${ZIPF}, ${issue}`, '80 us');
    const { warmupPs, settled } = warmUpNow([spec], '1');
    expect(settled).toBe(true);
    const [l1, l2] = lookupsPerLine(spec, warmupPs);
    // the count of the pilot as a whole is taken for its rate
    expect(Math.min(l1, l2)).toBeGreaterThan(3.8);
    expect(Math.min(l1, l2)).toBeLessThan(4.5);
  });

  it('ends sooner where a small buffer has been walked once, as it fills no cache', () => {
    // 512 accesses of 1 us are a walk of 4 KiB; four lookups for each of the 128 lines of L1 are as many, of L2 none such
    const { warmupPs, settled } = warmUpNow(
      [system('4 KiB', 'issue: { process: poisson, every: 1 us }', '400 us')],
      '1',
    );
    expect(settled).toBe(true);
    expect(warmupPs / US).toBeGreaterThan(450);
    expect(warmupPs / US).toBeLessThan(600);
  });

  it('is said not to have settled where the caches take too long to fill', () => {
    const spec = system('4 MiB', `${ZIPF}, issue: { process: poisson, every: 1 us }`, '10 us');
    const { warmupPs, settled } = warmUpNow([spec], '1');
    expect(settled).toBe(false);
    // half of the longest pilot, 32 windows
    expect(warmupPs / US).toBe(160);
  });

  it('is common to placements: that of the one that takes longest', () => {
    const quick = system('4 KiB', 'issue: { process: poisson, every: 50 ns }', '100 us');
    const slow = system('4 MiB', `${ZIPF}, issue: { process: poisson, every: 50 ns }`, '100 us');
    const both = warmUpNow([quick, slow], '1').warmupPs;
    expect(both).toBe(warmUpNow([slow], '1').warmupPs);
    expect(both).toBeGreaterThan(2 * warmUpNow([quick], '1').warmupPs);
  });

  it('is a whole number of hyperperiods', () => {
    const periodic = (every: number): string =>
      `  s${every}: { attach: server, buffer: box, operations: read, issue: { process: periodic, block: 64 B, every: ${every} us } }\n`;
    const spec = read(`platform: { devices: { server: { service: { exponential: { mean: 1 us } } } } }
buffers: { box: { memory: server, size: 4 KiB } }
masters:
${periodic(6)}${periodic(10)}run: { seed: 1, duration: 2 ms, drain: 1 ms, journeys: off }
`).systems[0]!;
    const { warmupPs, settled } = warmUpNow([spec], '1');
    expect(settled).toBe(true);
    expect(warmupPs).toBeGreaterThan(0);
    expect(warmupPs % (30 * US)).toBe(0);
  });

  it('is taken as stated', () => {
    const spec = system('4 MiB', `${ZIPF}, issue: { process: poisson, every: 1 us }`, '10 us');
    const stated = { ...spec, run: { ...spec.run, warmupPs: 5 * US } };
    expect(warmUpNow([stated], '1')).toEqual({ warmupPs: 5 * US, settled: true });
  });
});
