import { describe, expect, it } from 'vitest';
import type { DeviceSpec, MasterSpec } from '../../src/scenario/scenario.js';
import {
  buffer,
  device,
  type Line,
  master,
  mostAtOnce,
  port,
  roundRobin,
  run,
  sorted,
  system,
  trace,
} from './platform.js';

/** Masters without a clock straight at a device without one: no time but the service passes. */
function straight(spec: Partial<DeviceSpec>, sources: (Partial<MasterSpec> & { lines: Line[] })[]) {
  const masters = sources.map(({ lines, ...more }, i) =>
    master(`m${i}`, 'dev', 'data', { clock: null, issue: trace(...lines), maxReads: 100, ...more }),
  );
  return run(system([device('dev', spec)], [buffer('data', 'dev')], masters));
}

const reads = (...times: number[]): Line[] => times.map((at) => [at, 'read', 0, 16]);

describe('a device', () => {
  it('serves as many bursts at once as it has servers, the others in order', () => {
    const { log, simulation } = straight({ servers: 2 }, [{ lines: reads(0, 0, 100, 15_000) }]);
    // 10 ns each: two at 0, the third at 10000 by the server that is free, the fourth at 15000 by the other
    expect(log.done.map((one) => [one.enteredAt, one.doneAt])).toEqual([
      [0, 10_000],
      [0, 10_000],
      [10_000, 20_000],
      [15_000, 25_000],
    ]);
    // busy 0-10 + 10-20 and 0-10 + 15-25 ns
    const servers = [...simulation.model.elements[0]!.channels()].filter((use) => use.kind === 'server');
    expect(servers.reduce((sum, use) => sum + use.busy.totalPs, 0)).toBe(40_000);
  });

  it('holds back what finds its queue full', () => {
    const { log } = straight({ queueDepth: 1 }, [{ lines: reads(0, 1, 2, 3) }]);
    // the second waits in the queue, the third gets its place when the second starts, the fourth when the third does
    expect(log.done.map((one) => [one.acceptedAt, one.enteredAt])).toEqual([
      [0, 0],
      [1, 10_000],
      [10_000, 20_000],
      [20_000, 30_000],
    ]);
    expect(log.dropped).toBe(0);
  });

  it('loses what finds its queue full, if it is set so', () => {
    const { log } = straight({ queueDepth: 1, full: 'lose' }, [{ lines: reads(0, 1, 2, 3, 10_001) }]);
    expect(log.done.map((one) => [one.wantedAt, one.enteredAt])).toEqual([
      [0, 0],
      [1, 10_000],
      [10_001, 20_000],
    ]);
    expect(log.dropped).toBe(2);
  });

  it('never holds more than its queue is deep', () => {
    const lines = reads(...Array.from({ length: 50 }, (_, i) => i * 1000));
    const { log, simulation } = straight({ queueDepth: 3 }, [{ lines }]);
    expect(simulation.model.elements[0]!.queued.largest).toBe(3);
    expect(mostAtOnce(log.done.map((one) => [one.acceptedAt, one.enteredAt]))).toBe(3);
    expect(log.done).toHaveLength(50);
  });

  it('serves the oldest first, whoever sent it, and of one instant the lower input', () => {
    const { log } = straight({}, [{ lines: reads(0, 5) }, { lines: reads(3, 5) }]);
    const order = log.done.toSorted((a, b) => a.enteredAt - b.enteredAt).map((one) => [one.master, one.wantedAt]);
    expect(order).toEqual([
      [0, 0],
      [1, 3],
      [0, 5],
      [1, 5],
    ]);
  });

  it('follows its own discipline', () => {
    const discipline = { ...roundRobin, policy: 'fixed_priority' as const, priority: ['m1'] };
    const { log } = straight({ discipline }, [{ lines: reads(0, 1, 2) }, { lines: reads(3, 4) }]);
    const order = log.done.toSorted((a, b) => a.enteredAt - b.enteredAt).map((one) => one.master);
    expect(order).toEqual([0, 1, 1, 0, 0]);
  });

  it('waits for the time slot of an input', () => {
    const slots = [
      { input: 'm0', cycles: 1000 },
      { input: 'm1', cycles: 4000 },
    ];
    const discipline = { ...roundRobin, policy: 'time_slots' as const, slots };
    const { log } = straight({ service: { kind: 'fixed', value: 10 }, discipline }, [
      { lines: reads(500, 1500) },
      { lines: reads(10) },
    ]);
    // frames of 5000 cycles of 1 ps: m0 owns 0-999, m1 1000-4999
    expect(sorted(log.done).map((one) => one.enteredAt)).toEqual([500, 5000, 1000]);
  });

  it('with a clock starts at its edges', () => {
    const { log } = straight({ clock: 'bus', service: { kind: 'fixed', value: 3000 } }, [{ lines: reads(1, 2) }]);
    // edges every 2500: the first at 2500, done 5500; the second at 7500
    expect(log.done.map((one) => one.enteredAt)).toEqual([2500, 7500]);
    // back at the edge after its end, one cycle under way
    expect(log.done.map((one) => one.doneAt)).toEqual([10_000, 15_000]);
  });

  it('behind a port takes a write when its last beat is in', () => {
    const masters = [master('m', 'p', 'data', { issue: trace([0, 'write', 0, 64]) })];
    const { log } = run(system([port('p', ['dev']), device('dev')], [buffer('data', 'dev')], masters));
    // in the port at 5 to 20 ns, which has it whole and sends from 20 on: 25 30 35 40; served until 50
    expect(log.done[0]!.enteredAt).toBe(40_000);
    // the response leaves the device at once, 1 ps for its cycle, is at the port at 55, and in at 60
    expect(log.done[0]!.doneAt).toBe(60_000);
  });
});

describe('a source that drops', () => {
  it('loses a request that finds no outstanding slot', () => {
    const { log } = straight({}, [{ lines: reads(0, 1, 2, 3, 10_001), maxReads: 2, whenFull: 'drop' }]);
    expect(log.done.map((one) => one.wantedAt)).toEqual([0, 1, 10_001]);
    expect(log.dropped).toBe(2);
  });

  it('takes as many of a batch as there are slots', () => {
    const { log } = straight({ servers: 4 }, [{ lines: reads(0, 0, 0, 0, 0), maxReads: 3, whenFull: 'drop' }]);
    expect(log.done).toHaveLength(3);
    expect(log.dropped).toBe(2);
  });

  it('counts the bursts that its requests are still to be cut into', () => {
    // 48 bytes in bursts of one beat of 16: three bursts and three slots, so nothing else at that instant
    const lines: Line[] = [
      [0, 'read', 0, 48],
      [0, 'read', 0, 16],
    ];
    const { log } = straight({ servers: 4 }, [{ lines, maxReads: 3, burstBeats: 1, whenFull: 'drop' }]);
    expect(log.done.map((one) => one.bytes)).toEqual([16, 16, 16]);
    expect(log.dropped).toBe(1);
  });
});
