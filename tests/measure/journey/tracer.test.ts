import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { readScenario } from '../../../src/scenario/read.js';
import { replicate } from '../../../src/study/replicate.js';
import { follow, readsAt, totals } from './followed.js';

describe('a server', () => {
  const server = `
platform:
  devices: { dev: { service: 100 ns, queue_depth: unlimited, size: 4 KiB } }
buffers: { regs: { memory: dev, size: 4 KiB } }
masters:
  a: &one
    { attach: dev, buffer: regs, burst: 1 beats, width: 64 bit, outstanding: 4, operations: read, addresses: sequential,
      issue: { process: trace, file: a.csv } }
  b: { <<: *one, issue: { process: trace, file: b.csv } }
run: { seed: 1, replications: 1, warmup: 0 ns, duration: 1 us }
`;

  test('who comes while it is taken waits for the rest of that service', () => {
    const traces = { 'a.csv': readsAt(0), 'b.csv': readsAt(10) };
    expect(follow(server, 'b', traces)).toEqual([
      { wantedNs: 10, latencyNs: 190, stages: { memory_queue: 90, data: 100 }, blame: { 'a @ dev': 90 } },
    ]);
    expect(follow(server, 'a', traces)[0]!.stages).toEqual({ data: 100 });
  });

  test('who comes second waits for both before it, each its own time', () => {
    const traces = { 'a.csv': readsAt(0, 10), 'b.csv': readsAt(5) };
    // 0 to 100 a, to 200 b, which came before the other of a
    expect(follow(server, 'a', traces)[1]!.blame).toEqual({ 'a @ dev': 90, 'b @ dev': 100 });
  });
});

/** A cycle is 5 ns; every place holds one burst, and is seen to be free a cycle after it was left. */
describe('a switch in front of a device', () => {
  const chain = (service: number): string => `
platform:
  clocks: { fabric: 200 MHz }
  ports:
    pa: &port { clock: fabric, to: [crossing], width: 64 bit, forward: 1 cycles, back: 1 cycles }
    pb: { <<: *port }
  switches:
    crossing: { clock: fabric, to: [dev], width: 64 bit, forward: 1 cycles, back: 1 cycles, queue_depth: 1 }
  devices: { dev: { service: ${service} ns, clock: fabric, width: 64 bit, queue_depth: 1, size: 4 KiB } }
buffers: { regs: { memory: dev, size: 4 KiB } }
masters:
  a: &one
    { attach: pa, clock: fabric, buffer: regs, burst: 1 beats, width: 64 bit, outstanding: 4, operations: read,
      addresses: sequential, issue: { process: trace, file: a.csv } }
  b: { <<: *one, attach: pb, issue: { process: trace, file: b.csv } }
run: { seed: 1, replications: 1, warmup: 0 ns, duration: 1 us }
`;

  test('of two that come at once the second waits a cycle for the output, and one for the place beyond', () => {
    const traces = { 'a.csv': readsAt(0), 'b.csv': readsAt(0) };
    // at the switch at 10: a is granted then and in service at 15, so its place is free at 20
    const [second] = follow(chain(5), 'b', traces);
    expect(second!.stages).toEqual({ arbitration: 10, transfer: 15, data: 5, return_transfer: 15 });
    expect(second!.blame).toEqual({ 'a @ crossing': 5, 'a @ dev': 5 });
    expect(follow(chain(5), 'a', traces)[0]!.blame).toEqual({});
  });

  test('who finds no room beyond is told whom those beyond wait for', () => {
    const traces = { 'a.csv': readsAt(0, 0, 0), 'b.csv': readsAt(2) };
    const [first, second, third] = follow(chain(100), 'a', traces);
    expect(first!.blame).toEqual({});
    // the second is at the switch at 20: b goes on until 25, stands at the device behind the first until 115, gives its
    // place back at 120; from 125 on the second stands behind b, until 215
    const waits = { source_wait: 5, port: 5, arbitration: 100, memory_queue: 90 };
    expect(second!.stages).toEqual({ ...waits, transfer: 15, data: 100, return_transfer: 15 });
    const before = { 'a @ pa': 5, 'a @ crossing': 5, 'b @ crossing': 5, 'a @ dev': 90 };
    expect(second!.blame).toEqual({ ...before, 'b @ dev': 95 });
    // the third waits in the port from 15 to 125 as the second does at the switch, then from 130 to 220 for the second
    // behind b, then from 225 to 315 for the second
    expect(third!.blame).toEqual({ ...before, 'a @ pa': 15, 'a @ dev': 185, 'b @ dev': 90 });
    expect(follow(chain(100), 'b', traces)[0]!.blame).toEqual({ 'b @ pb': 3, 'a @ dev': 95 });
  });
});

/** A cycle is 5 ns; lookup 4 cycles, data 3, fill 2; memory beside it 2 cycles a beat, a beat a cycle. */
describe('a coherence unit', () => {
  const cached = `
platform:
  clocks: { bus: 200 MHz }
  ports:
    pa: &port { clock: bus, to: [unit], width: 128 bit, forward: 1 cycles, back: 1 cycles }
    pb: { <<: *port }
  coherence:
    unit:
      { clock: bus, to: [ram], width: 128 bit, line: 64 B, lookup: 4 cycles, data: 3 cycles, fill: 2 cycles,
        intervention: 9 cycles, miss_entries: 16, writeback_slots: 8, l2: { size: 4 KiB, ways: 4 },
        bypass: { forward: 1 cycles, back: 1 cycles } }
  memories:
    ram: { clock: bus, kind: onchip, width: 128 bit, size: 64 KiB, banks: 1, access: 2 cycles }
buffers: { shared: { memory: ram, size: 4 KiB, cached: yes } }
masters:
  a: &one
    { attach: pa, clock: bus, buffer: shared, burst: 1 beats, width: 128 bit, outstanding: 4, operations: read,
      addresses: sequential, issue: { process: trace, file: a.csv } }
  b: { <<: *one, attach: pb, issue: { process: trace, file: b.csv } }
run: { seed: 1, replications: 1, warmup: 0 ns, duration: 2 us }
`;
  const traces = { 'a.csv': readsAt(0, 500), 'b.csv': readsAt(20) };

  test('the journey of a fetch is a part of the journey of the burst that it is for', () => {
    // at the unit at 10, looked up by 30; at the memory at 35, whose last beat is ready at 60 and back at 70; filled by 80
    const [miss, hit] = follow(cached, 'a', traces);
    expect(miss!.stages).toEqual({ transfer: 15, lookup: 20, data: 35, return_transfer: 20 });
    expect(miss!.latencyNs).toBe(90);
    expect(hit!.stages).toEqual({ transfer: 10, lookup: 20, data: 15, return_transfer: 10 });
  });

  test('who joins a line in flight shares what is left of its journey after the own lookup', () => {
    // looked up from 30 to 50, while the memory serves the line until 60
    const [joined] = follow(cached, 'b', traces);
    expect(joined!.stages).toEqual({ transfer: 10, lookup: 20, data: 20, return_transfer: 20 });
    expect(joined!.blame).toEqual({});
  });
});

test('on the way back a burst waits as much longer as others have its lane', () => {
  const lanes = `
platform:
  clocks: { bus: 200 MHz }
  ports:
    p: { clock: bus, to: [sw], width: 64 bit, forward: 1 cycles, back: 1 cycles }
  switches: { sw: { clock: bus, to: [ra, rb], width: 64 bit, forward: 1 cycles, back: 1 cycles } }
  memories:
    ra: &ram { clock: bus, kind: onchip, width: 64 bit, size: 4 KiB, banks: 1, access: 2 cycles }
    rb: { <<: *ram }
buffers: { one: { memory: ra, size: 4 KiB }, two: { memory: rb, size: 4 KiB } }
masters:
  a: &one
    { attach: p, clock: bus, buffer: one, burst: 4 beats, width: 64 bit, outstanding: 4, operations: read,
      addresses: sequential, issue: { process: trace, file: a.csv } }
  b: { <<: *one, buffer: two, issue: { process: trace, file: b.csv } }
run: { seed: 1, replications: 1, warmup: 0 ns, duration: 2 us }
`;
  const at = (ns: number): string => `time_ns,operation,address,bytes\n${ns},read,0,32`;
  const traces = { 'a.csv': at(0), 'b.csv': at(2) };
  expect(follow(lanes, 'a', traces)[0]!.stages).toEqual({ transfer: 15, data: 25, return_transfer: 15 });
  // its beats are at the switch from 35 to 50, where those of a leave from 30 to 45
  const [second] = follow(lanes, 'b', traces);
  const waits = { source_wait: 3, return_arbitration: 15 };
  expect(second!.stages).toEqual({ ...waits, transfer: 15, data: 25, return_transfer: 15 });
  expect(second!.blame).toEqual({ 'b @ p': 3, 'a @ sw': 15 });
});

describe.each([2, 4, 16])('a DRAM, and bursts of %d beats', (beats) => {
  /** The victim has one burst in flight, of an access for each two beats, in banks of its own. */
  const shared = (culprit: string): string => `
platform:
  clocks: { fabric: 200 MHz, ctl: 400 MHz }
  ports:
    a: &port { clock: fabric, to: [ddr], width: 128 bit, forward: 1 cycles, back: 1 cycles, outstanding: 8 }
    b: { <<: *port }
  memories:
    ddr:
      { clock: ctl, kind: ddr, grade: DDR3-1600K, bus: 32 bit, density: 4 Gbit, mapping: [bank, row, column],
        width: 128 bit }
buffers:
  low: { memory: ddr, size: 4 KiB, cached: no, base: 0 B }
  high: { memory: ddr, size: 1 MiB, cached: no, base: 512 MiB }
masters:
  victim:
    { attach: a, clock: fabric, width: 128 bit, burst: ${beats} beats, outstanding: 1, operations: read, buffer: low,
      addresses: sequential, issue: { process: dependent, think: 100 ns } }
  culprit:
    { attach: b, clock: fabric, width: 128 bit, burst: 16 beats, outstanding: 8, operations: read, buffer: high,
      addresses: { pattern: random, align: 256 B }, issue: ${culprit} }
run: { seed: 1, replications: 1, warmup: 0 ns, duration: 200 us }
`;

  test('alone, a victim waits for refresh and for nothing else: its own accesses are no waiting', () => {
    const bursts = follow(shared('silent'), 'victim');
    expect(bursts.length).toBeGreaterThan(600);
    expect(Object.keys(totals(bursts.map(({ blame }) => blame)))).toEqual(['refresh @ ddr']);
  });

  test('beside one greedy culprit all its waiting but refresh and the edges of clocks is due to that', () => {
    const bursts = follow(shared('greedy'), 'victim');
    const blame = totals(bursts.map(({ blame: of }) => of));
    const waited = Object.values(blame).reduce((sum, ns) => sum + ns, 0);
    expect(blame['culprit @ ddr']! / bursts.length).toBeGreaterThan(15);
    // the rest is less than a tenth of a DRAM clock a burst
    expect((waited - blame['culprit @ ddr']! - blame['refresh @ ddr']!) / bursts.length).toBeLessThan(0.125);
  });
});

test('the stages are the same whether blame is kept as well or not', () => {
  const text = readFileSync(new URL('../../../scenarios/control-loop.yaml', import.meta.url), 'utf8');
  const { systems } = readScenario(text, 'control-loop.yaml', { readFile: () => '' });
  const [stages, blame] = (['stages', 'blame'] as const).map((journeys) => {
    const run = { ...systems[0]!.run, durationPs: 100_000_000, journeys };
    const options = { seed: '1', replication: 1, replications: 2, warmupPs: 0 };
    return replicate({ ...systems[0]!, run }, options).paths.map((path) => path.stages!);
  });
  expect(stages!.reduce((sum, { count }) => sum + count, 0)).toBeGreaterThan(1500);
  expect(stages).toEqual(blame);
});
