import fc from 'fast-check';
import type { ArbitrationSpec, ElementSpec, MasterSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { buffer, crossbar, device, master, onChip, port, roundRobin, system } from './platform.js';

/** Random small systems: ports, one or two switches, on-chip memories and devices, masters of every kind on them. */

const width = fc.constantFrom(4, 8, 16, 32);
const clockName = fc.constantFrom('fabric', 'bus', 'odd');
const early = fc.constantFrom('final', 'final', 'early' as const) as fc.Arbitrary<'final' | 'early'>;

/** Periods as fractions of a picosecond, from 1 ns to 8 ns. */
export const period = fc
  .tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1000, max: 8000 }))
  .map(([denominator, ps]) => ({ numerator: ps * denominator + (denominator > 1 ? 1 : 0), denominator }));

/** Policies that serve everyone, and one that does not; names are of inputs that some elements have. */
const arbitration: fc.Arbitrary<ArbitrationSpec> = fc
  .record({
    policy: fc.constantFrom('round_robin', 'fixed_priority', 'weighted', 'oldest', 'qos' as const),
    grain: fc.integer({ min: 1, max: 3 }),
    ageingPs: fc.constantFrom(0, 20_000),
  })
  .map((some) => ({
    ...roundRobin,
    ...some,
    priority: ['m2', 'p1', 's0'],
    weights: new Map([
      ['m1', 3],
      ['p1', 2],
    ]),
  }));

const portKeys = fc.record({
  clock: clockName,
  widthBytes: width,
  forwardCycles: fc.integer({ min: 1, max: 3 }),
  backwardCycles: fc.integer({ min: 1, max: 2 }),
  syncCycles: fc.nat(2),
  queueDepth: fc.integer({ min: 1, max: 4 }),
  maxReads: fc.integer({ min: 1, max: 8 }),
  maxWrites: fc.integer({ min: 1, max: 8 }),
  returnSpaceBytes: fc.constantFrom(64, 512, Infinity),
  qos: fc.constantFrom(null, 7),
  regulator: fc.constantFrom(null, null, { bytesPerS: 2e9, depthBytes: 256 }),
  inFlight: fc.constantFrom(1, 3, Infinity),
  pack: fc.boolean(),
  writeStart: fc.constantFrom('whole_burst', 'first_beat' as const),
  writeResponse: early,
  arbitration,
});

const switchKeys = fc.record({
  clock: clockName,
  widthBytes: width,
  forwardCycles: fc.integer({ min: 1, max: 3 }),
  backwardCycles: fc.integer({ min: 1, max: 2 }),
  syncCycles: fc.nat(2),
  queueDepth: fc.integer({ min: 1, max: 4 }),
  queues: fc.constantFrom('per_input', 'per_output' as const),
  pack: fc.boolean(),
  writeResponse: early,
  arbitration,
});

const onChipKeys = fc.record({
  clock: clockName,
  widthBytes: width,
  syncCycles: fc.nat(2),
  banks: fc.integer({ min: 1, max: 4 }),
  interleaveBytes: fc.constantFrom(32, 64, 128),
  accessCycles: fc.integer({ min: 1, max: 4 }),
  queueDepth: fc.integer({ min: 1, max: 4 }),
  arbitration,
});

const deviceKeys = fc.record({
  clock: fc.constantFrom(null, 'fabric', 'odd'),
  widthBytes: width,
  syncCycles: fc.nat(2),
  servers: fc.integer({ min: 1, max: 3 }),
  service: fc.constantFrom(
    { kind: 'fixed', value: 20_000 } as const,
    { kind: 'uniform', low: 1000, high: 90_000 } as const,
  ),
  queueDepth: fc.constantFrom(1, 3, Infinity),
  discipline: arbitration,
});

const think = { kind: 'uniform', low: 0, high: 60_000 } as const;
const issue = fc.constantFrom<MasterSpec['issue']>(
  { process: 'greedy' },
  { process: 'dependent', think },
  { process: 'poisson', pace: { kind: 'every', everyPs: 120_000 }, batch: { kind: 'fixed', value: 2 } },
  { process: 'periodic', blockBytes: 1024, everyPs: 700_000, jitterPs: 5000, offsetPs: 10_000 },
  { process: 'steady', pace: { kind: 'every', everyPs: 90_000 }, jitterPs: 0, offsetPs: 0 },
);

const masterKeys = fc.record({
  at: fc.nat(5),
  where: fc.nat(5),
  clock: clockName,
  widthBytes: width,
  syncCycles: fc.nat(2),
  burstBeats: fc.constantFrom(1, 4, 16),
  maxReads: fc.integer({ min: 1, max: 6 }),
  maxWrites: fc.integer({ min: 1, max: 6 }),
  ids: fc.integer({ min: 1, max: 3 }),
  qos: fc.nat(15),
  readShare: fc.constantFrom(0, 0.5, 1),
  pattern: fc.constantFrom<MasterSpec['pattern']>(
    { pattern: 'sequential' },
    { pattern: 'random', alignBytes: 4 },
    { pattern: 'strided', strideBytes: 100 },
  ),
  size: fc.constantFrom<MasterSpec['size']>(
    { kind: 'fixed', value: 64 },
    { kind: 'uniform', low: 1, high: 300 },
    { kind: 'fixed', value: 40 },
  ),
  issue,
});

const clocks = fc.record({ fabric: period, bus: period, odd: period });

/** Ports that lead to one or both of two switches in a row, memories and devices behind them. */
export const randomSystem: fc.Arbitrary<SystemSpec> = fc
  .record({
    clocks,
    ports: fc.array(portKeys, { minLength: 1, maxLength: 3 }),
    switches: fc.array(switchKeys, { minLength: 1, maxLength: 2 }),
    memories: fc.tuple(onChipKeys, onChipKeys),
    devices: fc.tuple(deviceKeys, deviceKeys),
    masters: fc.array(masterKeys, { minLength: 2, maxLength: 5 }),
    shortCut: fc.boolean(),
  })
  .map(({ clocks: named, ports, switches, memories, devices, masters, shortCut }) => {
    const last = switches.length - 1;
    const ends = ['ram0', 'ram1', 'dev0', 'dev1'];
    const elements: ElementSpec[] = [
      // with a short cut, a port has a second output
      ...ports.map((keys, i) => port(`p${i}`, shortCut ? ['s0', 'ram0'] : ['s0'], keys)),
      ...switches.map((keys, i) =>
        crossbar(`s${i}`, i < last ? [`s${i + 1}`, 'ram0', 'dev0'] : ['ram0', 'dev0', 'ram1', 'dev1'], keys),
      ),
      ...memories.map((keys, i) => onChip(`ram${i}`, keys)),
      ...devices.map((keys, i) => device(`dev${i}`, keys)),
    ];
    const spec = system(
      elements,
      ends.map((name) => buffer(name, name, 512, 16_384)),
      masters.map(({ at, where, ...keys }, i) => master(`m${i}`, `p${at % ports.length}`, ends[where % 4]!, keys)),
      Object.entries(named).map(([name, fraction]) => ({ name, ...fraction })),
    );
    return { ...spec, run: { ...spec.run, durationPs: 2e6, drainPs: 2e6 } };
  });
