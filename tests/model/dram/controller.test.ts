import seedrandom from 'seedrandom';
import { describe, expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { Command } from '../../../src/model/dram/command.js';
import { Window } from '../../../src/model/window.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { ControllerRig, type Sent } from './controller-rig.js';
import { timingOfGrade } from './grade-timing.js';
import { faultsOf } from './faults.js';
import { ddrSpec } from './rig.js';

// 400 MHz against DDR3-1600K on 32 bits: an access is 32 bytes and 5 ns of data, two cycles
const CLOCK = new Clock('memory', 2500, 1);
const SPEC = ddrSpec(timingOfGrade('DDR3-1600K-x16'));
// PHY 4 + CL 11 + BL/2 4 + PHY 4 clocks of 1.25 ns from the read command to its data, then 6 cycles
const DATA_PS = 23 * 1250;
const back = (readPs: number): number => Math.ceil((readPs + DATA_PS) / 2500) * 2500 + 15_000;

const burst = (change: Partial<Sent>): Sent => ({ write: false, address: 0, bytes: 64, atPs: 0, ...change });

describe('the controller', () => {
  test('cuts an access a cycle, and gives each beat back when its access is there', () => {
    const rig = new ControllerRig(SPEC, CLOCK);
    rig.send(burst({}));
    rig.run(1_000_000);
    // accesses enter at 25 and 27.5 ns: activate at 25, reads 11 clocks later at 38.75 and 4 clocks after that
    const [first, second] = [back(38_750), back(43_750)];
    expect(rig.back[0]!.usableAt).toEqual([first, first, second, second]);
    // the lane sends a beat a cycle from the first on, one cycle each
    expect(rig.back[0]!.deliveredAt).toBe(second + 2 * 2500);
  });

  test('a beat that spans accesses waits for the last of them', () => {
    const rig = new ControllerRig({ ...SPEC, widthBytes: 128 }, CLOCK);
    rig.send(burst({ bytes: 128 }));
    rig.run(1_000_000);
    expect(rig.back[0]!.usableAt).toEqual([back(38_750 + 3 * 5000)]);
  });

  test('a write is final when its last access is in the queue, each access as its data come in', () => {
    const rig = new ControllerRig(SPEC, CLOCK);
    rig.send(burst({ write: true, beatCycles: 4 }));
    rig.run(1_000_000);
    // beats at 0, 10, 20, 30 ns; the second access has its data at 30 ns
    expect(rig.back[0]!.usableAt).toEqual([30_000 + 25_000]);
    const entered = rig.probe.log.filter((entry) => entry[1] === Command.write).map(([clock]) => clock * 1250);
    expect(entered[0]).toBeLessThan(30_000 + 25_000);
  });

  test('an access that is used in part counts its other beats as wasted', () => {
    const rig = new ControllerRig(SPEC, CLOCK);
    // 20 bytes from 28 on: one beat of 4 bytes in the first access, four in the second
    rig.send(burst({ address: 28, bytes: 20 }));
    rig.run(1_000_000);
    const use = rig.controller.dram[0]!.use;
    expect([use.readBytes, use.beats, use.wastedBeats]).toEqual([20, 16, 7 + 4]);
  });

  test('inputs take turns every grain', () => {
    const enteredInputs = (grainBytes: number): number[] => {
      const rig = new ControllerRig({ ...SPEC, grainBytes, scheduler: 'in_order' }, CLOCK, { inputs: 2 });
      for (const input of [0, 1]) rig.send(burst({ input, address: input * 2 ** 20, bytes: 256 }));
      rig.run(2_000_000);
      const rows = rig.probe.log.filter((entry) => entry[1] === Command.read).map((entry) => entry[4]);
      return rows.map((row) => (row === 0 ? 0 : 1));
    };
    expect(enteredInputs(64)).toEqual([0, 0, 1, 1, 0, 0, 1, 1, 0, 0, 1, 1, 0, 0, 1, 1]);
    expect(enteredInputs(128)).toEqual([0, 0, 0, 0, 1, 1, 1, 1, 0, 0, 0, 0, 1, 1, 1, 1]);
  });

  test('a full queue holds the front end back, and never holds more than its entries', () => {
    const rig = new ControllerRig({ ...SPEC, readEntries: 4 }, CLOCK);
    rig.send(burst({ bytes: 1024 }));
    let most = 0;
    for (let ps = 0; ps < 1_000_000; ps += 1250) {
      rig.run(ps);
      rig.controller.dram[0]!.settle(ps + 1);
      most = Math.max(most, rig.controller.dram[0]!.queue.reads.queued);
    }
    expect(rig.back[0]!.usableAt).toHaveLength(64);
    expect(most).toBe(4);
  });

  test('interleaved channels work side by side', () => {
    const time = (channels: number): number => {
      const rig = new ControllerRig({ ...SPEC, channels, bytes: SPEC.bytes * channels, widthBytes: 32 }, CLOCK);
      for (let i = 0; i < 64; i++) rig.send(burst({ address: i * 1024, bytes: 1024 }));
      rig.run(100_000_000);
      expect(rig.order).toHaveLength(64);
      return Math.max(...rig.back.map(({ deliveredAt }) => deliveredAt));
    };
    // 64 KiB at 6.4 GB/s are 10.24 µs, at 12.8 GB/s half of it
    expect(time(1)).toBeGreaterThan(10_240_000);
    expect(time(1)).toBeLessThan(10_500_000);
    expect(time(2)).toBeGreaterThan(5_120_000);
    expect(time(2)).toBeLessThan(5_400_000);
  });

  test('a read wholly covered by a queued write comes back without a read command', () => {
    const rig = new ControllerRig(SPEC, CLOCK);
    // the write drains at once, so it must still be on its way to an open row: 11 clocks
    rig.send(burst({ write: true, bytes: 16 }));
    rig.send(burst({ bytes: 16 }));
    rig.run(1_000_000);
    expect(rig.controller.dram[0]!.use.coveredReads).toBe(1);
    expect(rig.probe.log.some((entry) => entry[1] === Command.read)).toBe(false);
    // both enter at 25 ns, which is a DRAM clock too; the answer takes the next edge and 6 cycles
    expect(rig.back[1]!.usableAt).toEqual([27_500 + 15_000]);
  });

  test('serves the bursts of one ID in order where the master asks for it, and others as they come', () => {
    const served = (keepIdOrder: number[]): number[] => {
      const rig = new ControllerRig(SPEC, CLOCK, { keepIdOrder });
      const row = SPEC.timing.rowBytes * SPEC.timing.banks;
      rig.send(burst({ address: 0, bytes: 32 }));
      // row 0 is open; number 1 hits it with eight accesses of another ID, which number 2 would have to close it under
      rig.send(burst({ address: 32, bytes: 256, atPs: 500_000, id: 1 }));
      rig.send(burst({ address: row, bytes: 32, atPs: 500_000 }));
      rig.send(burst({ address: 512, bytes: 32, atPs: 500_000 }));
      rig.run(2_000_000);
      return rig.order;
    };
    expect(served([])).toEqual([0, 1, 3, 2]);
    expect(served([0])).toEqual([0, 1, 2, 3]);
  });

  test('a stream in ID order loses nothing on row hits', () => {
    const last = (keepIdOrder: number[]): number => {
      const rig = new ControllerRig({ ...SPEC, widthBytes: 32, channels: 2, bytes: SPEC.bytes * 2 }, CLOCK, {
        keepIdOrder,
      });
      const id = (i: number): number => (keepIdOrder.length > 0 ? 0 : i);
      for (let i = 0; i < 32; i++) rig.send(burst({ address: i * 128, bytes: 128, id: id(i) }));
      rig.run(20_000_000);
      if (keepIdOrder.length > 0) expect(rig.order).toEqual(Array.from({ length: 32 }, (_, i) => i));
      expect(rig.order).toHaveLength(32);
      return rig.back[31]!.deliveredAt;
    };
    // in order the channels take turns burst by burst, each at the pace of the row hits
    expect(last([0])).toBeLessThan(2.2 * last([]));
  });
});

/** Random traffic of several inputs: bursts of all sizes, half of them in few rows. */
function randomTraffic(spec: DdrSpec, bursts: number, seed: string): Sent[] {
  const random = seedrandom.xor4096(seed);
  const below = (n: number): number => Math.floor(random() * n);
  return Array.from({ length: bursts }, (_, n) => {
    const master = below(5);
    const page = random() < 0.5 ? below(4) : below(spec.bytes / 4096);
    const within = below(4096);
    return {
      write: random() < 0.4,
      address: page * 4096 + within,
      bytes: 1 + below(Math.min(256, 4096 - within)),
      atPs: CLOCK.edgeFrom(below(bursts * 25_000)),
      input: below(3),
      master,
      qos: below(3),
      // only master 4 has its IDs kept in order by the memory
      id: master === 4 ? n % 2 : n,
    };
  });
}

describe('random traffic of three inputs', () => {
  const grades: [string, Partial<DdrSpec>][] = [
    ['DDR3-1600K-x16', { capPs: 500_000 }],
    ['DDR4-2666V-x16', { channels: 2, ranks: 2, bankHash: true, capPs: 500_000 }],
    ['LPDDR4X-4266-x16ch', { channels: 2, refresh: { mode: 'per_bank', postpone: 2 }, capPs: 500_000 }],
    [
      'DDR4-3200AA-x8',
      {
        page: { policy: 'closed', idlePs: 0 },
        activateFirst: true,
        readEntries: 8,
        writeEntries: 8,
        highMark: 6,
        lowMark: 2,
      },
    ],
    ['DDR2-800E-x8', { scheduler: 'in_order', page: { policy: 'timeout', idlePs: 200_000 } }],
  ];

  test.each(grades)('%s: all come back, bytes in are bytes out, no rule is broken', (grade, change) => {
    const refresh = { mode: 'all_bank', postpone: 0 } as const;
    const spec = ddrSpec(timingOfGrade(grade), { refresh, ...change });
    const traffic = randomTraffic(spec, 1500, grade);
    const rig = new ControllerRig(spec, CLOCK, { inputs: 3, keepIdOrder: [4], window: new Window(0, 1e9) });
    for (const sent of traffic) rig.send(sent);
    rig.run(1e9);
    expect(rig.order).toHaveLength(traffic.length);
    expect(rig.context.bursts.inFlight).toBe(0);
    for (let channel = 0; channel < spec.channels; channel++) {
      const log = rig.probe.log.filter((entry) => entry[5] === channel);
      expect(log.length).toBeGreaterThan(500);
      expect(faultsOf(log, spec.timing).slice(0, 3)).toEqual([]);
    }
    const uses = rig.controller.uses();
    const sum = (pick: (use: (typeof uses)[number]) => number): number => uses.reduce((n, use) => n + pick(use), 0);
    const bytes = (write: boolean): number =>
      traffic.filter((sent) => sent.write === write).reduce((n, sent) => n + sent.bytes, 0);
    expect(sum((use) => use.writeBytes)).toBe(bytes(true));
    // a covered read moves nothing on the bus
    const covered = sum((use) => use.coveredReads) * spec.timing.burstLength * spec.timing.busBytes;
    expect(sum((use) => use.readBytes)).toBeLessThanOrEqual(bytes(false));
    expect(sum((use) => use.readBytes)).toBeGreaterThanOrEqual(bytes(false) - covered);
    expect(sum((use) => use.rowHits + use.rowEmpties + use.rowConflicts)).toBe(sum((use) => use.columnAccesses));
  });

  test('shuffling the events of a phase, and the order of arrivals at different inputs, changes nothing', () => {
    const spec = ddrSpec(timingOfGrade('DDR4-2400R-x16'), {
      channels: 2,
      refresh: { mode: 'all_bank', postpone: 0 },
      capPs: 300_000,
      scheduler: 'out_of_order',
    });
    const traffic = randomTraffic(spec, 800, 'shuffle').map((sent) => ({
      ...sent,
      // many at one instant
      atPs: Math.floor(sent.atPs / 100_000) * 100_000,
    }));
    const unique = traffic.filter((sent, i) => {
      const same = traffic.findIndex(
        (other) => other.atPs === sent.atPs && other.input === sent.input && other.write === sent.write,
      );
      return same === i;
    });
    const run = (shuffle?: () => number): unknown => {
      const rig = new ControllerRig(spec, CLOCK, { inputs: 3, keepIdOrder: [4], ...(shuffle ? { shuffle } : {}) });
      for (const sent of unique) rig.send(sent);
      rig.run(1e9);
      const log = [0, 1].map((channel) => rig.probe.log.filter((entry) => entry[5] === channel));
      return [rig.back, log];
    };
    const plain = run();
    for (const seed of ['a', 'b', 'c']) expect(run(seedrandom.xor4096(seed))).toEqual(plain);
  });
});
