import { describe, expect, it } from 'vitest';
import { Clock } from '../../src/engine/clock.js';
import { Arbiter } from '../../src/model/arbiter.js';
import { READ, WRITE } from '../../src/model/bursts.js';
import { ReturnLane } from '../../src/model/return-lane.js';
import type { Hop, Route } from '../../src/model/route.js';
import type { ArbitrationSpec } from '../../src/scenario/scenario.js';
import { bareContext, roundRobin } from './platform.js';

/** A beat that left: of which burst, its number, and when it is in at the other end. */
type Sent = readonly [burst: string, beat: number, atPs: number];

type More = Partial<{ id: number; master: number; from: string; op: number }>;

/** One lane with a clock of 1 ns and one cycle back, at the first hop of every route. */
class Bench {
  readonly context = bareContext(1, 8);
  readonly sent: Sent[] = [];
  readonly lane: ReturnLane;
  private readonly names = new Map<number, string>();
  private readonly clock = new Clock('bus', 1000, 1);
  readonly left: number[] = [];

  constructor(
    private readonly sources = ['memory', 'device'],
    policy: Partial<ArbitrationSpec> = {},
  ) {
    const arbiter = new Arbiter({ ...roundRobin, ...policy }, sources, this.context.bursts);
    this.lane = new ReturnLane(this.context, 0, this.clock, 1, arbiter);
    this.lane.watcher = { left: (_, { freeAt }) => void this.left.push(freeAt) };
  }

  /** Offers a burst whose beats are usable at these instants (a write: its response at the first of them). */
  offer(name: string, beatsPs: number[], more: More = {}): number {
    const slot = this.make(name, beatsPs, more);
    this.lane.offer(slot, 0);
    return slot;
  }

  /** Offers a burst that must not be answered before `first`. */
  offerBehind(first: number, name: string, beatsPs: number[]): void {
    const { bursts } = this.context;
    const slot = this.make(name, beatsPs, {});
    bursts.orderBefore[slot] = first;
    bursts.orderAfter[first] = slot;
    this.lane.offer(slot, 0);
  }

  private make(name: string, beatsPs: number[], more: More): number {
    const { bursts } = this.context;
    const slot = bursts.allocate(this.route(more.from ?? 'memory'));
    this.names.set(slot, name);
    bursts.op[slot] = more.op ?? READ;
    bursts.id[slot] = more.id ?? 0;
    bursts.master[slot] = more.master ?? 0;
    bursts.number[slot] = this.names.size;
    bursts.address[slot] = 0;
    bursts.bytes[slot] = beatsPs.length * 4;
    bursts.clearBeats(slot);
    bursts.beats.set(beatsPs, bursts.beatBase(slot, 0));
    bursts.responseAt[slot] = beatsPs[0]!;
    return slot;
  }

  /** A beat that was not known when its burst was offered. */
  learn(slot: number, beat: number, atPs: number): void {
    const { bursts } = this.context;
    bursts.beats[bursts.beatBase(slot, 0) + beat] = atPs;
    this.lane.more(slot, 0);
  }

  run(untilPs = Infinity): Sent[] {
    this.context.calendar.run(untilPs);
    return this.sent;
  }

  private route(from: string): Route {
    const { clock, lane } = this;
    const output = this.sources.indexOf(from);
    const hop = { element: 0, clock, beatBytes: 4, output, readLane: lane, writeLane: lane } as unknown as Hop;
    const sink = {
      receive: (slot: number, first: number, end: number, _last: boolean, edge: number) => {
        for (let beat = first; beat < end; beat++)
          this.sent.push([this.names.get(slot)!, beat, clock.at(edge + beat - first)]);
      },
    };
    return { hops: [hop], sink, target: from, refill: -1, immediate: false, early: false, lossy: false };
  }
}

describe('a return lane', () => {
  it('sends a beat a cycle, each in one cycle later, none before it is there', () => {
    const bench = new Bench();
    // there at 1000, 1500 (edge 2000), 5000; in one cycle after its edge
    bench.offer('a', [1000, 1500, 5000]);
    expect(bench.run()).toEqual([
      ['a', 0, 2000],
      ['a', 1, 3000],
      ['a', 2, 6000],
    ]);
    expect(bench.lane.busy.totalPs).toBe(3000);
    // the last beat's cycle ends at 6000
    expect(bench.left).toEqual([6000]);
  });

  it('carries another ID in the gaps of the burst that holds the grant, and only there', () => {
    const bench = new Bench();
    // a holds edges 1 2 and 5 6; b, there from edge 1 on, gets 3 and 4, then 7
    bench.offer('a', [1000, 2000, 5000, 6000]);
    bench.offer('b', [1000, 2000, 3000], { id: 1 });
    expect(bench.run()).toEqual([
      ['a', 0, 2000],
      ['a', 1, 3000],
      ['b', 0, 4000],
      ['b', 1, 5000],
      ['a', 2, 6000],
      ['a', 3, 7000],
      ['b', 2, 8000],
    ]);
  });

  it('leaves a gap empty rather than to a burst of the same master and ID', () => {
    const bench = new Bench();
    bench.offer('a', [1000, 2000, 5000, 6000]);
    bench.offer('b', [1000, 2000, 3000], { id: 0 });
    expect(bench.run().map(([name, , atPs]) => `${name} ${atPs}`)).toEqual([
      'a 2000',
      'a 3000',
      'a 6000',
      'a 7000',
      'b 8000',
      'b 9000',
      'b 10000',
    ]);
  });

  it('takes the ID of another master for another', () => {
    const bench = new Bench();
    bench.offer('a', [1000, 5000]);
    bench.offer('b', [1000], { id: 0, master: 1 });
    expect(bench.run().map(([name]) => name)).toEqual(['a', 'b', 'a']);
  });

  it('gives back a gap as soon as the next beat of the holder is there, known late as it may be', () => {
    const bench = new Bench();
    const a = bench.offer('a', [1000, Infinity]);
    bench.offer('b', [1000, 1000, 1000, 1000], { id: 1 });
    bench.run(2500);
    bench.learn(a, 1, 4000);
    expect(bench.run().map(([name, , atPs]) => `${name} ${atPs}`)).toEqual([
      'a 2000',
      'b 3000',
      'b 4000',
      'a 5000',
      'b 6000',
      'b 7000',
    ]);
  });

  it('fills a gap alike whether the next beat of the holder is made known before or after it decides', () => {
    for (const first of [true, false]) {
      const bench = new Bench();
      const a = bench.offer('a', [1000, Infinity]);
      bench.offer('b', [1000, 1000], { id: 1 });
      bench.offer('c', [1000, 1000], { id: 2, from: 'device' });
      // it decides at 2000, the instant at which it is told
      bench.run(first ? 1999 : 2000);
      bench.context.calendar.now = 2000;
      bench.learn(a, 1, 4000);
      // the gap is 2000 and 3000; those who fill it take turns, c from the device first
      expect(bench.run().map(([name, , atPs]) => `${name} ${atPs}`)).toEqual([
        'a 2000',
        'c 3000',
        'b 4000',
        'a 5000',
        'c 6000',
        'b 7000',
      ]);
    }
  });

  it('lets no burst of the same ID come into one that filled a gap in part', () => {
    const bench = new Bench();
    bench.offer('a', [1000, 3000]);
    bench.offer('b', [1000, 6000], { id: 1 });
    // b starts in the gap of a; d, of b's ID, must then wait for b, and c, of another, need not
    bench.offer('d', [4000], { id: 1 });
    bench.offer('c', [5000], { id: 2 });
    expect(bench.run().map(([name, , atPs]) => `${name} ${atPs}`)).toEqual([
      'a 2000',
      'b 3000',
      'a 4000',
      'c 6000',
      'b 7000',
      'd 8000',
    ]);
  });

  it('decides per burst by the policy, among sources that take turns', () => {
    const bench = new Bench();
    for (const name of ['m0', 'm1']) bench.offer(name, [1000, 1000], { master: 1 });
    for (const name of ['d0', 'd1']) bench.offer(name, [1000, 1000], { master: 2, from: 'device' });
    expect(bench.run().map(([name]) => name)).toEqual(['m0', 'm0', 'd0', 'd0', 'm1', 'm1', 'd1', 'd1']);
    expect(bench.lane.grants).toBe(4);
  });

  it('carries a write response a cycle', () => {
    const bench = new Bench();
    for (const [i, name] of ['x', 'y', 'z'].entries()) bench.offer(name, [900], { op: WRITE, id: i });
    expect(bench.run()).toEqual([
      ['x', 0, 2000],
      ['y', 0, 3000],
      ['z', 0, 4000],
    ]);
  });

  it('keeps a burst waiting for the one before it in ID order, however early its answer is', () => {
    const bench = new Bench();
    const first = bench.offer('first', [Infinity, Infinity]);
    bench.offerBehind(first, 'second', [1000]);
    bench.offer('other', [3000], { id: 5 });
    bench.run(8000);
    bench.learn(first, 0, 9000);
    bench.learn(first, 1, 10_000);
    expect(bench.run()).toEqual([
      ['other', 0, 4000],
      ['first', 0, 10_000],
      ['first', 1, 11_000],
      ['second', 0, 12_000],
    ]);
  });
});
