import { expect, test } from 'vitest';
import { Calendar } from '../../../src/engine/calendar.js';
import { Clock } from '../../../src/engine/clock.js';
import { randomStream } from '../../../src/engine/random.js';
import type { Context } from '../../../src/model/context.js';
import { Access } from '../../../src/model/dram/access.js';
import { Bank } from '../../../src/model/dram/bank.js';
import type { Channel } from '../../../src/model/dram/channel.js';
import { IdOrder } from '../../../src/model/dram/id-order.js';

const CHANNELS = 2;
const EACH = 8;

/** An access that has entered, as the test keeps it. */
interface Entered {
  readonly access: Access;
  readonly channel: number;
  /** Master, direction and ID; null where no order is kept. */
  readonly stream: string | null;
  /** The one it waits for, or null. */
  readonly before: Entered | null;
  /** From which clock on those that wait for it may go. */
  gone: number;
}

/** Random accesses of several masters, directions and IDs, entering and going at random; all but master 3 keep order. */
class Streams {
  readonly inside: Entered[] = [];
  private readonly calendar = new Calendar();
  private readonly clock = new Clock('dram', 1000, 1);
  private readonly draw: () => number;
  private readonly bursts = { master: [] as number[], number: [] as number[], id: [] as number[] };
  private readonly free: Access[][] = [];
  private readonly channels: Channel[] = [];
  private readonly order: IdOrder;
  private now = 0;

  constructor(seed: string) {
    this.draw = randomStream(seed, 0, 'ddr', 'test');
    const bank = new Bank(0, 0, 0);
    for (let number = 0; number < CHANNELS; number++) {
      const all = Array.from({ length: EACH }, (_, n) => new Access(n, bank));
      const unhide = (access: Access): void => void access.waits--;
      this.free.push([...all]);
      this.channels.push({ number, queue: { all }, unhide } as unknown as Channel);
    }
    const context = { calendar: this.calendar, bursts: this.bursts } as unknown as Context;
    this.order = new IdOrder(context, this.channels, this.clock);
    for (const master of [0, 1, 2]) this.order.add(master);
  }

  below(n: number): number {
    return Math.floor(this.draw() * n);
  }

  enter(): void {
    const channel = this.below(CHANNELS);
    const access = this.free[channel]!.shift();
    if (access === undefined) return;
    const [master, id, direction, own] = [this.below(4), this.below(2), this.below(2), this.below(8) === 0];
    access.burst = channel * EACH + access.number;
    this.bursts.master[access.burst] = master;
    this.bursts.id[access.burst] = id;
    // fills and write-backs of caches are numbered below zero
    this.bursts.number[access.burst] = own ? -1 - id : id;
    access.direction = direction;
    access.waits = 0;
    access.after = -1;
    const stream = master === 3 || own ? null : `${master} ${direction} ${id}`;
    const before = this.inside.findLast((one) => stream !== null && one.stream === stream && one.gone === Infinity);
    this.order.entering(this.channels[channel]!, access);
    this.inside.push({ access, channel, stream, before: before ?? null, gone: Infinity });
  }

  /** One that may be served goes, at this clock or a later one. */
  pass(): void {
    const ready = this.inside.filter((one) => one.gone === Infinity && this.waits(one) === 0);
    const one = ready[this.below(ready.length)];
    if (one === undefined) return;
    const clock = this.now + (this.below(3) === 0 ? 2 : 0);
    this.order.passed(this.channels[one.channel]!, one.access, clock);
    one.gone = clock + 1;
    this.inside.splice(this.inside.indexOf(one), 1);
    this.free[one.channel]!.push(one.access);
  }

  tick(): void {
    this.now++;
    this.calendar.run(this.clock.at(this.now));
  }

  /** How many things an access should wait for. */
  waits(one: Entered): number {
    return one.before !== null && one.before.gone > this.now ? 1 : 0;
  }
}

test.each(['a', 'b', 'c'])('an access waits for the one before it of its master, direction and ID, run %s', (seed) => {
  const streams = new Streams(seed);
  let waited = 0;
  for (let step = 0; step < 600; step++) {
    const deed = streams.below(5);
    if (deed < 2) streams.enter();
    else if (deed < 4) streams.pass();
    else streams.tick();
    const expected = streams.inside.map((one) => streams.waits(one));
    expect(streams.inside.map(({ access }) => access.waits)).toEqual(expected);
    waited += expected.filter((waits) => waits > 0).length;
  }
  expect(waited).toBeGreaterThan(50);
});
