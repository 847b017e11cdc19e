import { describe, expect, it } from 'vitest';
import { Probe } from '../../src/model/probe.js';
import type { RequestTable } from '../../src/model/request-table.js';
import { Simulation } from '../../src/model/simulation.js';
import type { MasterSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { buffer, device, type Line, master, mostAtOnce, onChip, port, run, sorted, system, trace } from './platform.js';

/** One master at a port in front of a memory; the port and the master at 5 ns, the memory at 2.5 ns. */
function single(more: Partial<MasterSpec>, durationPs = 5e6): SystemSpec {
  const spec = system([port('p', ['ram']), onChip('ram')], [buffer('data', 'ram')], [master('m', 'p', 'data', more)]);
  return { ...spec, run: { ...spec.run, durationPs } };
}

/** A master that goes past every fabric: each burst takes the 10 ns that the device serves it. */
function direct(more: Partial<MasterSpec>, durationPs = 5e6): SystemSpec {
  const spec = system(
    [device('dev', { servers: 16 })],
    [buffer('data', 'dev')],
    [master('m', 'dev', 'data', { clock: null, ...more })],
  );
  return { ...spec, run: { ...spec.run, durationPs } };
}

const wanted = (spec: SystemSpec): number[] => sorted(run(spec).log.done).map((one) => one.wantedAt);
const within = (times: number[], fromPs: number, toPs: number): number[] =>
  times.filter((t) => t >= fromPs && t < toPs);

describe('the wanted instant', () => {
  it('of a steady source is the scheduled one, however late it runs', () => {
    // a request every 10 ns, where the path needs 20 ns for each (64 bytes, four beats of 5 ns)
    const issue = { process: 'steady', pace: { kind: 'every', everyPs: 10_000 }, jitterPs: 0, offsetPs: 3000 } as const;
    const { log } = run(single({ issue, stopPs: 1e6 }));
    const own = sorted(log.done);
    expect(own.map((one) => one.wantedAt)).toEqual(Array.from({ length: 100 }, (_, n) => 3000 + n * 10_000));
    // it falls behind by 10 ns a request, but for those that fill the pipeline
    const lateness = own.map((one) => one.acceptedAt - one.wantedAt);
    expect(lateness.at(-1)!).toBeGreaterThan(850_000);
  });

  it('of a periodic block is shared by all its requests', () => {
    const issue = { process: 'periodic', blockBytes: 192, everyPs: 1e6, jitterPs: 0, offsetPs: 50_000 } as const;
    // three requests of 64 bytes
    expect(wanted(single({ issue }, 3e6))).toEqual([50_000, 1_050_000, 2_050_000].flatMap((t) => [t, t, t]));
  });

  it('of a request is shared by all the bursts that it is cut into', () => {
    const { log } = run(single({ issue: trace([7000, 'read', 0, 300]) }));
    // bursts of 64: 64 64 64 64 44
    expect(log.done.map((one) => [one.wantedAt, one.bytes])).toEqual(
      [64, 64, 64, 64, 44].map((bytes) => [7000, bytes]),
    );
  });

  it('of a greedy source is when an outstanding slot is free', () => {
    const own = sorted(run(direct({ issue: { process: 'greedy' }, maxReads: 2 }, 50_000)).log.done);
    // two at once, 10 ns each, and the next two when they are back
    expect(own.slice(0, 6).map((one) => [one.wantedAt, one.doneAt])).toEqual([
      [0, 10_000],
      [0, 10_000],
      [10_000, 20_000],
      [10_000, 20_000],
      [20_000, 30_000],
      [20_000, 30_000],
    ]);
  });

  it('of a dependent source is the completion of the one before plus the think time', () => {
    const issue = { process: 'dependent', think: { kind: 'fixed', value: 7000 } } as const;
    const own = sorted(run(single({ issue, startPs: 1000 }, 1e6)).log.done);
    expect(own[0]!.wantedAt).toBe(1000);
    for (const [n, one] of own.slice(1).entries()) expect(one.wantedAt).toBe(own[n]!.doneAt + 7000);
    expect(own.length).toBeGreaterThan(5);
  });

  it('of a dependent request of several bursts counts from its last', () => {
    const issue = { process: 'dependent', think: { kind: 'fixed', value: 0 } } as const;
    const own = sorted(run(single({ issue, size: { kind: 'fixed', value: 128 } }, 1e6)).log.done);
    for (let n = 2; n < own.length; n += 2) {
      expect(own[n]!.wantedAt).toBe(own[n - 1]!.doneAt);
      expect(own[n + 1]?.wantedAt ?? own[n]!.wantedAt).toBe(own[n]!.wantedAt);
    }
  });

  it('lies from start to stop', () => {
    for (const issue of [
      { process: 'greedy' },
      { process: 'dependent', think: { kind: 'fixed', value: 0 } },
      { process: 'steady', pace: { kind: 'every', everyPs: 30_000 }, jitterPs: 0, offsetPs: 0 },
    ] as const) {
      const times = wanted(single({ issue, startPs: 300_000, stopPs: 600_000 }));
      expect(times.length).toBeGreaterThan(4);
      expect(within(times, 300_000, 600_000)).toEqual(times);
    }
  });
});

describe('levels of latency', () => {
  it('are from wanted, from first offered, and over all bursts of a request', () => {
    // two reads of 64 bytes at one instant, one slot: the second is offered when the first is back
    const spec = single({ maxReads: 1, issue: trace([0, 'read', 0, 128]) });
    const requests: number[][] = [];
    class Requests extends Probe {
      override requestCompleted(_master: number, _write: boolean, table: RequestTable, request: number): void {
        requests.push([table.wantedAt[request]!, table.bytes[request]!, simulation.context.calendar.now]);
      }
    }
    const { done } = run(spec).log;
    const options = { seed: '1', replication: 1, warmupPs: 0, durationPs: 5e6, drainPs: 0, probe: new Requests() };
    const simulation = new Simulation(spec, options);
    simulation.run();
    // a lone read takes 55 ns here (see U); the second is offered at once at 55, and takes 55 again
    expect(done.map((one) => [one.wantedAt, one.offeredAt, one.doneAt])).toEqual([
      [0, 0, 55_000],
      [0, 55_000, 110_000],
    ]);
    expect(requests).toEqual([[0, 128, 110_000]]);
  });

  it('offered comes before accepted when the port is full', () => {
    const masters = [master('m', 'p', 'data', { maxReads: 4, issue: trace(...lines(4)) })];
    const elements = [
      port('p', ['dev'], { queueDepth: 1, maxReads: 1 }),
      device('dev', { service: { kind: 'fixed', value: 1e6 } }),
    ];
    const { done } = run(system(elements, [buffer('data', 'dev')], masters)).log;
    // the first leaves the port at 5 ns, which frees a place from 10. The second may leave when the answer to the first has:
    // served from 10 to 1010, its four beats leave the port from 1015 to 1035. So the third has its place from 1040.
    expect(done.map((one) => one.offeredAt)).toEqual([0, 5000, 15_000, 1_045_000]);
    expect(done.map((one) => one.acceptedAt).slice(0, 3)).toEqual([0, 10_000, 1_040_000]);
  });
});

describe('outstanding limits', () => {
  it('hold for reads and for writes by themselves', () => {
    const masters = [true, false].map((read, i) =>
      master(`m${i}`, 'p', 'data', {
        readShare: read ? 1 : 0,
        maxReads: 3,
        maxWrites: 2,
        issue: { process: 'greedy' },
      }),
    );
    const spec = system([port('p', ['ram']), onChip('ram')], [buffer('data', 'ram')], masters);
    const { done } = run({ ...spec, run: { ...spec.run, durationPs: 5e6 } }).log;
    const most = (write: boolean): number =>
      mostAtOnce(done.filter((one) => one.write === write).map((one) => [one.acceptedAt, one.doneAt]));
    expect([most(false), most(true)]).toEqual([3, 2]);
  });

  it('of one direction do not hold back the other', () => {
    // one read slot, taken for 55 ns; a write wanted meanwhile goes out at once
    const { done } = run(single({ maxReads: 1, issue: trace(...lines(3), [5000, 'write', 0, 16]) })).log;
    const write = done.find((one) => one.write)!;
    expect(write.acceptedAt).toBe(5000);
    expect(done.filter((one) => !one.write).map((one) => one.acceptedAt)).toEqual([0, 55_000, 110_000]);
  });
});

describe('bytes of a master', () => {
  it('move a beat at a time, and in as out', () => {
    const { log, simulation } = run(single({ issue: trace([0, 'read', 5, 100], [0, 'write', 3000, 2000]) }));
    const [{ reads, writes }] = simulation.model.masters as [(typeof simulation.model.masters)[0]];
    expect([reads.wantedBytes, reads.movedBytes, writes.wantedBytes, writes.movedBytes]).toEqual([
      100, 100, 2000, 2000,
    ]);
    expect(log.done.reduce((sum, one) => sum + one.bytes, 0)).toBe(2100);
    // bytes 3000 to 4999 in bursts of 64 from aligned addresses, cut at 4096
    const cut = log.done.filter((one) => one.write).map((one) => [one.address, one.bytes]);
    expect(cut[0]).toEqual([3000, 56]);
    expect(cut).toContainEqual([4096, 64]);
  });

  it('count only in the window in which they move', () => {
    const spec = single({ issue: trace([0, 'read', 0, 64]) });
    // beats reach the master at 40 45 50 55 ns; the window is from 42 to 52
    const { simulation } = run(spec, { warmupPs: 42_000, durationPs: 10_000 });
    expect(simulation.model.masters[0]!.reads.movedBytes).toBe(32);
  });
});

function lines(count: number): Line[] {
  return Array.from({ length: count }, (_, n): Line => [0, 'read', n * 64, 64]);
}
