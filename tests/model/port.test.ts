import { describe, expect, it } from 'vitest';
import { TokenBucket } from '../../src/model/port.js';
import type { MasterSpec, OnChipSpec, PortSpec } from '../../src/scenario/scenario.js';
import {
  buffer,
  clock,
  device,
  type Done,
  type Line,
  master,
  mostAtOnce,
  onChip,
  port,
  run,
  sorted,
  system,
  trace,
} from './platform.js';

const CLOCKS = [clock('fabric', 5000), clock('bus', 2500), clock('slow', 10_000)];

/** Masters at one port in front of a memory, all in a clock of 5 ns unless said; times of what was done are in ps. */
function behindPort(keys: Partial<PortSpec>, sources: Partial<MasterSpec>[], ram: Partial<OnChipSpec> = {}): Done[] {
  const masters = sources.map((more, i) => master(`m${i}`, 'p', 'data', more));
  const elements = [port('p', ['ram'], keys), onChip('ram', { clock: 'fabric', ...ram })];
  const spec = system(elements, [buffer('data', 'ram')], masters, CLOCKS);
  return sorted(run({ ...spec, run: { ...spec.run, durationPs: 2e7 } }).log.done);
}

/** In cycles of 5 ns: when a lone burst of 64 bytes, wanted at 0, is done. */
function alone(
  operation: 'read' | 'write',
  keys: Partial<PortSpec>,
  source: Partial<MasterSpec> = {},
  ram: Partial<OnChipSpec> = {},
): number {
  const [only] = behindPort(keys, [{ burstBeats: 16, issue: trace([0, operation, 0, 64]), ...source }], ram);
  return only!.doneAt / 5000;
}

const greedy = (more: Partial<MasterSpec> = {}): Partial<MasterSpec> => ({ issue: { process: 'greedy' }, ...more });
const lines = (...all: Line[]): Partial<MasterSpec> => ({ issue: trace(...all) });
/** From the grant at the port until the last of the answer has left it: one cycle back, and the master in the same clock. */
const beyondPort = (done: Done[]) => done.map((one) => [one.grantedAt[0]!, one.doneAt] as const);

describe('a crossing', () => {
  it('costs nothing between elements that name the same clock', () => {
    // at the port at 1, leaves it at 2, beats usable at 4 to 7, at the port at 5 to 8, in at 9
    expect(alone('read', {})).toBe(9);
  });

  it('costs two cycles of the receiver each way between clocks, even of the same period', () => {
    const twin = [clock('fabric', 5000), clock('twin', 5000)];
    const masters = [master('m', 'p', 'data', lines([0, 'read', 0, 64]))];
    const elements = [port('p', ['ram']), onChip('ram', { clock: 'twin' })];
    const { log } = run(system(elements, [buffer('data', 'ram')], masters, twin));
    expect(log.done[0]!.doneAt / 5000).toBe(13);
  });

  it('is paid beat by beat, pipelined', () => {
    // 16 beats of a write one cycle apart: at the port 3 to 18, leave it 19 to 34; 16 cycles for 16 beats, not 16 × 3.
    const twin = [clock('fabric', 5000), clock('twin', 5000)];
    const masters = [master('m', 'p', 'data', { ...lines([0, 'write', 0, 256]), burstBeats: 16, clock: 'twin' })];
    const { log } = run(
      system([port('p', ['ram']), onChip('ram', { clock: 'fabric' })], [buffer('data', 'ram')], masters, twin),
    );
    // issued 1 to 16, + 2; whole at 18; sent 19 to 34; in the array at 35; back 36, at the port 37, + 2 = 39
    expect(log.done[0]!.doneAt / 5000).toBe(39);
  });
});

describe('width', () => {
  it('narrow to wide: the wide beat leaves with its last byte', () => {
    // 16 beats of 4 at the port at 1 to 16, four of 16 at 4 8 12 16; sent at 17 to 20; in the array 21, back 22, in 23
    expect(alone('write', {}, { widthBytes: 4 })).toBe(23);
  });

  it('narrow to wide with pack: no, beats pass one for one', () => {
    // the port sends 16 beats at 17 to 32; the last wide one is there at 32; in the array 33, back 34, in 35
    expect(alone('write', { pack: false }, { widthBytes: 4 })).toBe(35);
  });

  it('wide to narrow: ratio beats, the first usable with the wide beat', () => {
    // the port is 4 bytes wide and asks at the first beat: wide beats at 1 2 3 4, narrow ones sent at 2 to 17;
    // the memory has its last of 16 bytes at 17; in the array 18, back 19, in 20
    expect(alone('write', { widthBytes: 4, writeStart: 'first_beat' })).toBe(20);
  });

  it('on the way back: a narrow memory gives a wide beat every four cycles', () => {
    // beats of 4 usable at 4 to 19, at the port 5 to 20, whole at 8 12 16 20, in at 21
    expect(alone('read', {}, {}, { widthBytes: 4 })).toBe(21);
    // the master packs what the port does not
    expect(alone('read', { pack: false }, {}, { widthBytes: 4 })).toBe(21);
    // a narrow master takes four beats for each: wide ones in at 6 7 8 9, narrow ones at 6 to 21
    expect(alone('read', {}, { widthBytes: 4 })).toBe(21);
  });
});

describe('a write at its port', () => {
  // at half the pace of the port: beats of m0 are there at 10 20 30 40 ns; a short write of m1 at 10 to 15
  const slow = { ...lines([0, 'write', 0, 64]), clock: 'slow', syncCycles: 0 };
  const short = lines([5000, 'write', 1024, 16]);

  it('asks when the whole burst is there, and others pass meanwhile', () => {
    const done = behindPort({ syncCycles: 0 }, [slow, short]);
    expect(done.map((one) => one.grantedAt[0])).toEqual([40_000, 10_000]);
  });

  it('asks at its first beat if set so, and then holds what it was granted, gaps included', () => {
    const done = behindPort({ syncCycles: 0, writeStart: 'first_beat' }, [slow, { ...short, startPs: 5000 }]);
    // m1, there at 15, waits until the last beat of m0 has left in the cycle from 40 to 45
    expect(done.map((one) => one.grantedAt[0])).toEqual([10_000, 45_000]);
  });

  it('is collected again by a port behind the port', () => {
    const clocks = [clock('fabric', 1000)];
    const masters = [master('m', 'near', 'data', { burstBeats: 16, ...lines([0, 'write', 0, 256]) })];
    const elements = [port('near', ['far']), port('far', ['ram']), onChip('ram', { clock: 'fabric' })];
    const [only] = sorted(run(system(elements, [buffer('data', 'ram')], masters, clocks)).log.done);
    // in the near port at 1 to 16 ns; sent from 16 on, in the far one at 17 to 32; sent from 32 on
    expect(only!.grantedAt).toEqual([16_000, 32_000]);
  });
});

describe('an early write response', () => {
  it('is given by the port as soon as it has the whole burst', () => {
    // beats there at 1 to 4, response in at 5; the final one comes out of the array at 9, back 10, in 11
    expect(alone('write', {})).toBe(11);
    expect(alone('write', { writeResponse: 'early' })).toBe(5);
  });

  it('is given once, by the first element that is set so, and the data goes on', () => {
    const { log, simulation } = run(
      system(
        [port('p', ['q'], { writeResponse: 'early' }), port('q', ['ram'], { writeResponse: 'early' }), onChip('ram')],
        [buffer('data', 'ram')],
        [master('m', 'p', 'data', lines([0, 'write', 0, 64], [0, 'write', 64, 64]))],
      ),
    );
    expect(log.done.map((one) => one.number)).toEqual([0, 1]);
    expect(simulation.context.bursts.inFlight).toBe(0);
    const ram = [...simulation.model.elements[2]!.channels()].find((use) => use.kind === 'server')!;
    // eight beats in the array, 2.5 ns each
    expect(ram.busy.totalPs).toBe(20_000);
  });
});

describe('a token bucket', () => {
  it('lets its depth through at once and then its rate', () => {
    // 1 GB/s: a byte a ns
    const bucket = new TokenBucket(1e9, 128);
    const passes: number[] = [];
    for (let now = 0, n = 0; n < 4; n++) {
      now = bucket.opensAt(64, now);
      bucket.take(64, now);
      passes.push(now);
    }
    expect(passes).toEqual([0, 0, 64_000, 128_000]);
  });

  it('never saves up more than its depth', () => {
    const bucket = new TokenBucket(1e9, 128);
    bucket.take(128, 0);
    // full again at 128 ns, and no fuller at 1 us
    bucket.take(128, 1e6);
    expect(bucket.opensAt(64, 1e6)).toBe(1_064_000);
  });

  it('lets more than its depth pass from full, and pays it off after', () => {
    const bucket = new TokenBucket(1e9, 64);
    expect(bucket.opensAt(256, 0)).toBe(0);
    bucket.take(256, 0);
    // 256 ns to be full again
    expect(bucket.opensAt(256, 0)).toBe(256_000);
    expect(bucket.opensAt(1, 0)).toBe(193_000);
  });

  it('holds a port to its rate, reads and writes apart', () => {
    const regulator = { bytesPerS: 4e8, depthBytes: 128 };
    const both = [greedy({ readShare: 1 }), greedy({ readShare: 0 })];
    const done = behindPort({ regulator }, both);
    for (const which of [0, 1]) {
      const granted = done.filter((one) => one.master === which).map((one) => one.grantedAt[0]!);
      // 64 bytes every 160 ns, two in advance: the n-th not before (n − 2) × 160 ns, and hardly after
      for (const [n, at] of granted.entries()) {
        expect(at).toBeGreaterThanOrEqual((n - 1) * 160_000);
        expect(at).toBeLessThan((n - 1) * 160_000 + 200_000);
      }
      expect(granted.length).toBeGreaterThan(100);
    }
  });
});

describe('limits of a port', () => {
  const many = [greedy({ maxReads: 8 }), greedy({ maxReads: 8 }), greedy({ readShare: 0, maxWrites: 8 })];

  it('keep so many reads and so many writes of all masters in flight beyond it', () => {
    const done = behindPort({ maxReads: 3, maxWrites: 2 }, many);
    expect(mostAtOnce(beyondPort(done.filter((one) => !one.write)))).toBe(3);
    expect(mostAtOnce(beyondPort(done.filter((one) => one.write)))).toBe(2);
  });

  it('keep so many bursts of both directions together in flight, and neither starves the other', () => {
    for (const inFlight of [1, 2]) {
      const done = behindPort({ inFlight }, many);
      expect(mostAtOnce(beyondPort(done))).toBe(inFlight);
      const writes = done.filter((one) => one.write).length;
      expect(writes / done.length).toBeGreaterThan(0.4);
      expect(writes / done.length).toBeLessThan(0.6);
    }
  });

  it('let a read leave only when there is return space for all its bytes', () => {
    const reads = many.slice(0, 2);
    // 64 bytes each: two fit into 191 bytes, one into 127; a burst larger than all the space goes alone
    const most = [Infinity, 191, 127, 32].map((returnSpaceBytes) =>
      mostAtOnce(beyondPort(behindPort({ returnSpaceBytes }, reads))),
    );
    expect(most[0]).toBeGreaterThan(2);
    expect(most.slice(1)).toEqual([2, 1, 1]);
  });

  it('hold for each master its own waiting bursts, as many as its queue is deep', () => {
    const done = behindPort({ queueDepth: 2, maxReads: 1 }, [greedy({ maxReads: 8 }), greedy({ maxReads: 8 })]);
    for (const which of [0, 1]) {
      const own = done.filter((one) => one.master === which);
      expect(mostAtOnce(own.map((one) => [one.acceptedAt, one.grantedAt[0]!]))).toBe(2);
    }
  });
});

describe('the QoS of a port', () => {
  it('overrides that of its masters', () => {
    // two ports into one device, one server: without the override m1 is always first, with it m0
    const order = (qos: number | null): string => {
      const source = (name: string, own: number, at: string) =>
        master(name, at, 'data', { qos: own, ...lines(...[0, 0, 0].map((t): Line => [t, 'read', 0, 16])) });
      const elements = [
        port('p0', ['dev'], { qos, backwardCycles: 1 }),
        port('p1', ['dev']),
        device('dev', {
          discipline: { ...device('').discipline, policy: 'qos' },
          service: { kind: 'fixed', value: 1e6 },
        }),
      ];
      const masters = [source('m0', 1, 'p0'), source('m1', 9, 'p1')];
      const { done } = run(system(elements, [buffer('data', 'dev')], masters)).log;
      return done.map((one) => one.master).join('');
    };
    expect(order(null)).toBe('111000');
    expect(order(12)).toBe('000111');
  });
});

describe('order', () => {
  /** Eight reads at a device of four servers whose times differ: what began at once ends in any order. */
  function answers(ids: number): Done[] {
    const service = { kind: 'uniform', low: 10_000, high: 900_000 } as const;
    const all = Array.from({ length: 8 }, (): Line => [0, 'read', 0, 16]);
    const masters = [master('m', 'p', 'data', { ids, maxReads: 8, ...lines(...all) })];
    const elements = [port('p', ['dev']), device('dev', { servers: 4, service })];
    return run(system(elements, [buffer('data', 'dev')], masters)).log.done;
  }

  it('is kept for one ID: answers that are early wait at the port', () => {
    const [kept, free] = [answers(1), sorted(answers(8))];
    expect(kept.map((one) => one.number)).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    // the device served them alike; each is done when it and all before it are, a cycle apart at least
    expect(kept.map((one) => one.enteredAt)).toEqual(free.map((one) => one.enteredAt));
    let last = -Infinity;
    for (const [n, one] of kept.entries()) {
      last = Math.max(last + 5000, free[n]!.doneAt);
      expect(one.doneAt).toBe(last);
    }
    expect(kept.map((one) => one.doneAt)).not.toEqual(free.map((one) => one.doneAt));
  });

  it('is not kept between IDs: they overtake', () => {
    const numbers = answers(8).map((one) => one.number);
    expect(numbers).not.toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    // with two IDs, each is in order by itself
    for (const id of [0, 1]) {
      const own = answers(2).filter((one) => one.number % 2 === id);
      expect(own.map((one) => one.number)).toEqual([0, 2, 4, 6].map((n) => n + id));
    }
  });

  it('is not kept between reads and writes: a write passes the reads that wait', () => {
    // reads one at a time, 1 us each, with a server to spare: the write has it at once
    const reads = Array.from({ length: 4 }, (_, n): Line => [0, 'read', n * 16, 16]);
    const masters = [master('m', 'p', 'data', lines(...reads, [100_000, 'write', 0, 16]))];
    const elements = [
      port('p', ['dev'], { maxReads: 1 }),
      device('dev', { servers: 2, service: { kind: 'fixed', value: 1e6 } }),
    ];
    const { done } = run(system(elements, [buffer('data', 'dev')], masters)).log;
    expect(done.map((one) => one.write)).toEqual([false, true, false, false, false]);
    // wanted at 100, at the port at 105, at the device at 110, served for 1000, at the port at 1115, in at 1120
    expect(done[1]!.doneAt).toBe(1_120_000);
  });
});
