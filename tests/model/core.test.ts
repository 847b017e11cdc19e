import { describe, expect, test } from 'vitest';
import { Probe } from '../../src/model/probe.js';
import { Simulation } from '../../src/model/simulation.js';
import { CoherenceUnit } from '../../src/model/coherence/coherence-unit.js';
import type { BufferSpec, MasterSpec, SystemSpec, TraceEntry } from '../../src/scenario/scenario.js';
import { fair, unitSpec } from './coherence/unit-bench.js';

// A whole platform of the smallest kind: cores at 1 GHz beside a unit at 1 GHz, and on-chip memory behind it at 1 GHz,
// so that every cycle is 1000 ps and every access can be followed by hand.
const NS = 1000;

interface Setup {
  cached: BufferSpec['cached'];
  trace: TraceEntry[];
  dma?: TraceEntry[];
}

const entry = (ns: number, write: boolean, address: number, bytes = 8): TraceEntry => ({
  timePs: ns * NS,
  write,
  address,
  bytes,
});

class Log extends Probe {
  readonly done: { master: number; write: boolean; address: number; bytes: number; fromNs: number; toNs: number }[] =
    [];
  simulation!: Simulation;

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.number[slot]! < 0) return;
    this.done.push({
      master: bursts.master[slot]!,
      write: bursts.op[slot] === 1,
      address: bursts.address[slot]!,
      bytes: bursts.bytes[slot]!,
      fromNs: bursts.wantedAt[slot]! / NS,
      toNs: bursts.doneAt[slot]! / NS,
    });
  }
}

function master(name: string, attach: string, entries: TraceEntry[], isCore: boolean): MasterSpec {
  return {
    name,
    group: null,
    attach,
    clock: 'clk',
    widthBytes: 16,
    syncCycles: 2,
    burstBeats: 16,
    maxReads: 8,
    maxWrites: 8,
    ids: 1,
    sameIdOrder: 'port',
    qos: 0,
    readShare: 1,
    buffer: 'work',
    pattern: { pattern: 'sequential' },
    size: { kind: 'fixed', value: 8 },
    issue: { process: 'trace', file: 'trace.csv', entries },
    startPs: 0,
    stopPs: Infinity,
    hitRatio: 0.5,
    asked: { reads: false, writes: false },
    core: isCore
      ? {
          l1: { bytes: 1024, ways: 2, replacement: 'lru' },
          hitCycles: 2,
          parallelism: 4,
          maintenanceCycles: 8,
          barrierCycles: 20,
        }
      : null,
    whenFull: 'wait',
  };
}

function run({ cached, trace, dma }: Setup): { log: Log; simulation: Simulation; lines: string[] } {
  const system: SystemSpec = {
    placement: 'small',
    clocks: new Map([['clk', { name: 'clk', numerator: 1000, denominator: 1 }]]),
    elements: [
      { ...unitSpec, clock: 'clk', to: ['ram'], l2: { ...unitSpec.l2, bytes: 4096 } },
      {
        kind: 'onchip',
        name: 'ram',
        clock: 'clk',
        widthBytes: 16,
        syncCycles: 2,
        bytes: 65536,
        banks: 1,
        interleaveBytes: 64,
        accessCycles: 3,
        queueDepth: 4,
        arbitration: fair,
      },
    ],
    buffers: [{ name: 'work', memory: 'ram', baseBytes: 0, bytes: 65536, cached }],
    masters: [master('cpu', 'cu', trace, true), ...(dma === undefined ? [] : [master('dma', 'ram', dma, false)])],
    tasks: [],
    budgets: [],
    metrics: [],
    run: {
      seed: 's',
      replications: 1,
      durationPs: 1e6,
      warmupPs: 0,
      drainPs: 1e6,
      exact: false,
      journeys: 'off',
      timeline: 'off',
    },
  };
  const log = new Log();
  const options = { seed: 's', replication: 1, warmupPs: 0, durationPs: 1e6, drainPs: 1e6, probe: log };
  const simulation = new Simulation(system, options);
  log.simulation = simulation;
  simulation.run();
  const lines = log.done.map(
    ({ master: m, write, address, bytes, fromNs, toNs }) =>
      `${m} ${write ? 'w' : 'r'} ${address}+${bytes} ${fromNs}-${toNs}`,
  );
  return { log, simulation, lines };
}

describe('a core on a cached buffer', () => {
  test('fetches a line through unit, bypass and memory, and then hits', () => {
    const { lines } = run({ cached: 'yes', trace: [entry(0, false, 0), entry(100, true, 8), entry(200, false, 16)] });
    // lookup in L1 until 2, at the tags until 6, past them until 7, memory's first beat at 10, last at 13, 1 back to the
    // bypass, 1 to the unit: in at 15; first beat 17, last 20, there at 21
    expect(lines).toEqual(['0 r 0+8 0-21', '0 w 8+8 100-102', '0 r 16+8 200-202']);
  });

  test('counts in the table of its private cache and of the shared one', () => {
    const { simulation } = run({ cached: 'yes', trace: [entry(0, false, 0), entry(100, true, 8)] });
    const unit = simulation.model.elements.find((element) => element instanceof CoherenceUnit)!;
    expect(unit.counts.of(0)).toMatchObject({ lookups: 1, misses: 1 });
    expect([unit.counts.cache]).toEqual(['cu L2']);
  });

  test('a master that goes past the caches is found out when it reads what the core changed', () => {
    const { simulation } = run({
      cached: 'yes',
      trace: [entry(0, true, 0), entry(0, false, 128)],
      dma: [entry(300, false, 0, 256), entry(400, true, 128, 64), entry(500, false, 4096, 64)],
    });
    expect([...simulation.context.warnings.keys()]).toEqual([
      'dma read lines that are dirty in a cache, in buffer work: a hand-over is missing, or the buffer must not be cached',
      'dma wrote under lines that a cache holds, in buffer work: a hand-over is missing, or the buffer must not be cached',
    ]);
  });
});

describe('a core on an uncached buffer', () => {
  test('goes out one by one, and each access blocks it', () => {
    const { lines } = run({ cached: 'no', trace: [entry(0, false, 0), entry(0, true, 8), entry(0, false, 64)] });
    // a load is out at 1, past the tags at 2, its beat is in at 5, back at the unit at 6 and at the core at 7; a store is
    // out a cycle after it begins, past the tags 1 later, in the memory 1 later, and its response takes 2 back
    const spans = lines.map((line) => line.split(' ').at(-1)!.split('-').map(Number));
    expect(lines.map((line) => line.split(' ').slice(1, 3).join(' '))).toEqual(['r 0+8', 'w 8+8', 'r 64+8']);
    expect(spans.map(([from]) => from)).toEqual([0, 0, 0]);
    expect(spans.map(([, to]) => to)).toEqual([7, 7 + 5, 7 + 5 + 7]);
  });

  test('does not touch the caches', () => {
    const { simulation } = run({ cached: 'no', trace: [entry(0, false, 0), entry(0, true, 8)] });
    const unit = simulation.model.elements.find((element) => element instanceof CoherenceUnit)!;
    expect(unit.counts.of(0).lookups).toBe(0);
  });
});

describe('a core on a write-combining buffer', () => {
  test('merges neighbouring stores up to a line, one write for all, wanted with the first', () => {
    const trace = Array.from({ length: 8 }, (_, k) => entry(k, true, k * 8));
    expect(run({ cached: 'combine', trace }).log.done).toMatchObject([{ address: 0, bytes: 64, fromNs: 0 }]);
  });

  test('sends what it has when a store lies elsewhere, before a load, and when none comes for 16 cycles', () => {
    const { log } = run({
      cached: 'combine',
      trace: [entry(0, true, 0), entry(1, true, 8), entry(2, true, 512), entry(3, false, 1024), entry(100, true, 0)],
    });
    const writes = log.done.filter(({ write }) => write);
    expect(writes.map(({ address, bytes, fromNs }) => [address, bytes, fromNs])).toEqual([
      [0, 16, 0],
      [512, 8, 2],
      [0, 8, 100],
    ]);
    // 16 cycles, then the way of a store: 5
    expect(writes[2]!.toNs).toBe(100 + 16 + 5);
  });

  test('does not block on stores, but on loads', () => {
    const { log } = run({
      cached: 'combine',
      trace: [
        ...Array.from({ length: 8 }, (_, k) => entry(0, true, k * 128)),
        entry(0, false, 2048),
        entry(0, true, 4096),
      ],
    });
    const load = log.done.find(({ write }) => !write)!;
    const last = log.done.at(-1)!;
    // eight stores a cycle each, then the load
    expect(load.toNs).toBeLessThan(8 * 5);
    expect(last).toMatchObject({ write: true, address: 4096 });
    expect(last.toNs).toBe(load.toNs + 16 + 5);
    expect(log.done).toHaveLength(10);
  });
});
