import { describe, expect, it } from 'vitest';
import type { ElementSpec, MasterSpec, SwitchSpec } from '../../src/scenario/scenario.js';
import {
  buffer,
  clock,
  crossbar,
  device,
  type Done,
  type Line,
  master,
  onChip,
  port,
  roundRobin,
  run,
  sorted,
  system,
  trace,
} from './platform.js';

const greedy = { process: 'greedy' } as const;
const CLOCKS = [clock('fabric', 1000), clock('bus', 1000)];

interface Source extends Partial<MasterSpec> {
  at: string;
  to: string;
}

/** Ports p0 p1 … in front of one switch, behind it the elements given; everything in one clock of 1 ns. */
function joined(keys: Partial<SwitchSpec>, ends: ElementSpec[], sources: Source[]) {
  const ports = [...new Set(sources.map(({ at }) => at))].toSorted();
  const elements = [
    ...ports.map((name) => port(name, ['x'])),
    crossbar(
      'x',
      ends.map((end) => end.name),
      { clock: 'fabric', ...keys },
    ),
    ...ends,
  ];
  const masters = sources.map(({ at, to, ...more }, i) => master(`m${i}`, at, to, more));
  const spec = system(
    elements,
    ends.map((end) => buffer(end.name, end.name)),
    masters,
    CLOCKS,
  );
  const { log, simulation } = run({ ...spec, run: { ...spec.run, durationPs: 5e6 } });
  const uses = new Map(simulation.model.elements.map((element) => [element.base.name, [...element.channels()]]));
  return { done: sorted(log.done), of: (n: number) => sorted(log.done).filter((one) => one.master === n), uses };
}

const ram = (name: string): ElementSpec => onChip(name, { clock: 'fabric' });
const slow = (name: string): ElementSpec =>
  device(name, { service: { kind: 'fixed', value: 1e6 }, queueDepth: 1, servers: 1 });

// That disjoint pairs of input and output do not slow each other is checked in ../validation/trade.
describe('a switch', () => {
  it('takes its pipeline cycles forward and back', () => {
    const [one] = joined(
      { forwardCycles: 5, backwardCycles: 3 },
      [ram('a')],
      [{ at: 'p0', to: 'a', issue: trace([0, 'read', 0, 16]) }],
    ).done;
    // port 1, switch 2, memory 2 + 5 = 7, usable 9, switch 10, port 10 + 3 = 13, in 14
    expect([one!.enteredAt, one!.doneAt]).toEqual([7000, 14_000]);
  });

  it('carries an address a cycle, and a beat of a write a cycle', () => {
    const reads = joined({}, [ram('a')], [{ at: 'p0', to: 'a', issue: greedy, size: { kind: 'fixed', value: 16 } }]);
    const grants = reads.done.map((one) => one.grantedAt[1]!).toSorted((p, q) => p - q);
    expect(grants.length).toBeGreaterThan(1000);
    for (const [i, at] of grants.slice(1).entries()) expect(at - grants[i]!).toBeGreaterThanOrEqual(1000);
    const writes = joined({}, [ram('a')], [{ at: 'p0', to: 'a', issue: greedy, readShare: 0 }]);
    const taken = writes.done.map((one) => one.grantedAt[1]!).toSorted((p, q) => p - q);
    // four beats each
    for (const [i, at] of taken.slice(1).entries()) expect(at - taken[i]!).toBeGreaterThanOrEqual(4000);
  });

  it('lets an input have one write in transfer at a time, whatever outputs they want', () => {
    // 4 bytes wide, so that 64 bytes take 16 cycles; the port sends 4 beats in as many and has both there by then
    const writes = ['a', 'b'].map((to): Source => ({ at: 'p0', to, issue: trace([0, 'write', 0, 64]) }));
    const { done } = joined({ widthBytes: 4 }, [ram('a'), ram('b')], writes);
    // whole at the port at 4 and granted, at the switch from 5; the second at the switch from 9, its turn after 20
    expect(done.map((one) => one.grantedAt)).toEqual([
      [4000, 5000],
      [8000, 21_000],
    ]);
  });

  it('pushes back: what finds no place waits where it is, and a full queue holds its depth', () => {
    const { of, uses } = joined({ queueDepth: 2 }, [slow('a')], [{ at: 'p0', to: 'a', maxReads: 8, issue: greedy }]);
    // one in service, one in the queue of the device, two in that of the switch, four in that of the port
    const [first] = of(0);
    expect(first!.enteredAt).toBe(4000);
    const grants = of(0).map((one) => one.grantedAt[1]!);
    // the switch sends the third only when the second starts, at 1 us and 4 ns
    expect(grants.slice(0, 3)).toEqual([2000, 3000 + 2000, 1_005_000]);
    const stalled = uses.get('x')!.find((use) => use.name === 'a read address')!.stalled!;
    expect(stalled.totalPs).toBeGreaterThan(4e6);
  });
});

describe('the head of an input queue', () => {
  // m0 fills the way to the slow device; m1, at the same port, wants one word of the fast memory
  const sources: Source[] = [
    { at: 'p0', to: 'slow', maxReads: 6, issue: greedy },
    { at: 'p0', to: 'fast', issue: trace([500_000, 'read', 0, 16]) },
  ];
  const latency = (queues: SwitchSpec['queues'], who = sources): number => {
    const { done } = joined({ queues }, [slow('slow'), ram('fast')], who);
    const one = done.find((candidate) => candidate.wantedAt === 500_000 && candidate.bytes === 16)!;
    return one.doneAt - one.wantedAt;
  };

  it('blocks those behind it that want another output, for as long as it cannot go on', () => {
    expect(latency('per_input')).toBeGreaterThan(500_000);
    const { uses } = joined({ queues: 'per_input' }, [slow('slow'), ram('fast')], sources);
    // the stall is visible at the output that the head waits for, and at the port that cannot send
    for (const [name, channel] of [
      ['x', 'slow read address'],
      ['p0', 'x read address'],
    ] as const) {
      expect(uses.get(name)!.find((use) => use.name === channel)!.stalled!.totalPs).toBeGreaterThan(1e6);
    }
  });

  it('blocks nobody where an input keeps a queue for each output', () => {
    const alone = latency('per_output', [sources[1]!]);
    // port 1, switch 2, memory 4, usable 6, switch 7, port 8, in 9
    expect(alone).toBe(9000);
    expect(latency('per_output')).toBe(alone);
  });
});

describe('arbitration at an output', () => {
  const three = (more: Partial<MasterSpec> = {}): Source[] =>
    ['p0', 'p1', 'p2'].map((at) => ({ at, to: 'a', issue: greedy, maxReads: 8, ...more }));
  const served = (arbitration: Partial<SwitchSpec['arbitration']>, sources = three()): number[] => {
    const { of } = joined({ arbitration: { ...roundRobin, ...arbitration } }, [ram('a')], sources);
    return [0, 1, 2].map((n) => of(n).filter((one) => one.grantedAt[1]! < 5e6).length);
  };

  it('round robin: equal shares of a saturated output', () => {
    // 64 bytes at 16 a cycle: 1250 bursts in 5000 cycles, and what is under way at the end
    const counts = served({});
    expect(Math.max(...counts) - Math.min(...counts)).toBeLessThanOrEqual(4);
    expect(counts.reduce((sum, n) => sum + n)).toBeGreaterThan(1240);
  });

  it('round robin is fair in grants, not in bytes', () => {
    const sources = three().map((source, i) => ({
      ...source,
      size: { kind: 'fixed' as const, value: i === 0 ? 64 : 16 },
    }));
    const counts = served({}, sources);
    expect(Math.max(...counts) - Math.min(...counts)).toBeLessThanOrEqual(4);
  });

  it('weighted: shares in proportion', () => {
    const [a, b, c] = served({ policy: 'weighted', weights: new Map([['p0', 4]]) });
    // 4 : 1 : 1
    expect(a! / b!).toBeGreaterThan(3.8);
    expect(a! / b!).toBeLessThan(4.2);
    expect(Math.abs(b! - c!)).toBeLessThanOrEqual(4);
  });

  it('fixed priority: the least is served hardly at all while the others can fill the output', () => {
    const [, second, last] = served({ policy: 'fixed_priority', priority: ['p1', 'p0'] });
    expect(second).toBeGreaterThan(500);
    expect(last).toBeLessThan(20);
  });

  it('QoS: the least urgent starves without ageing and not with it', () => {
    const sources = three().map((source, i) => ({ ...source, qos: i === 2 ? 0 : 10 }));
    const [starved] = served({ policy: 'qos' }, sources).toReversed();
    expect(starved).toBeLessThan(20);
    // ten steps of 10 ns to draw level: then it is the older
    const [aged] = served({ policy: 'qos', ageingPs: 10_000 }, sources).toReversed();
    expect(aged).toBeGreaterThan(30);
  });

  it('oldest first: equal shares among those that come alike', () => {
    const counts = served({ policy: 'oldest' });
    expect(Math.max(...counts) - Math.min(...counts)).toBeLessThanOrEqual(4);
  });

  it('time slots: each its share, whether the others use theirs or not', () => {
    const slots = [
      { input: 'p0', cycles: 1 },
      { input: 'p1', cycles: 1 },
      { input: null, cycles: 4 },
      { input: 'p2', cycles: 2 },
    ];
    // 625 frames of 8 cycles in 5000; a burst of one beat is an address in one cycle
    const words = three({ size: { kind: 'fixed', value: 16 } });
    for (const sources of [words, words.slice(2), words.slice(0, 1)]) {
      const counts = served({ policy: 'time_slots', slots }, sources);
      for (const { at } of sources) {
        const share = at === 'p2' ? 1250 : 625;
        const count = counts[sources.findIndex((source) => source.at === at)]!;
        expect(count).toBeGreaterThan(share - 5);
        expect(count).toBeLessThanOrEqual(share);
      }
    }
  });
});

describe('writes on an output', () => {
  /** Of writes in the order of their grants at hop `hop`: when the first and last beat were in beyond it. */
  const spans = (done: Done[], hop: number): [number, number][] =>
    done
      .filter((one) => one.write)
      .toSorted((a, b) => a.grantedAt[hop]! - b.grantedAt[hop]!)
      .map((one) => one.beatsAt[hop + 1]!);

  it('are never interleaved, and arrive in the order of their grants', () => {
    const sources: Source[] = ['p0', 'p1', 'p2'].map((at, i) => ({
      at,
      to: 'a',
      readShare: 0.3,
      burstBeats: 16,
      widthBytes: i === 1 ? 4 : 16,
      size: { kind: 'uniform', low: 1, high: 256 },
      issue: greedy,
    }));
    const { done } = joined({}, [ram('a')], sources);
    const all = spans(done, 1);
    expect(all.length).toBeGreaterThan(200);
    for (const [i, [first]] of all.slice(1).entries()) expect(first).toBeGreaterThan(all[i]![1]);
    const order = done.filter((one) => one.write).toSorted((a, b) => a.grantedAt[1]! - b.grantedAt[1]!);
    const entered = order.map((one) => one.enteredAt);
    expect(entered).toEqual(entered.toSorted((a, b) => a - b));
  });
});

describe('a saturated link', () => {
  it('carries exactly its peak rate: a beat in every cycle', () => {
    const lines: Line[] = [];
    for (let n = 0; n < 400; n++) lines.push([0, 'read', n * 64, 64]);
    const { done } = joined({}, [ram('a')], [{ at: 'p0', to: 'a', maxReads: 8, issue: trace(...lines) }]);
    // after the first, a burst of four beats every four cycles: 16 bytes a ns
    const ends = done.map((one) => one.doneAt);
    for (const [i, at] of ends.slice(1).entries()) expect(at - ends[i]!).toBe(4000);
    expect(ends).toHaveLength(400);
  });
});
