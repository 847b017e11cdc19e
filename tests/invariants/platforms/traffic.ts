import fc from 'fast-check';
import { clockNumber, core, width } from './elements.js';
import { distributionOf } from './distribution.js';
import { bits, bytes, cycles, ns, type Tree } from './tree.js';

/** Keys of masters. Times are short: a run lasts some microseconds. */

const pace = fc.oneof(
  fc.integer({ min: 20, max: 600 }).map((every) => ({ every: ns(every) })),
  fc.integer({ min: 50, max: 3000 }).map((rate) => ({ rate: `${rate} MB/s` })),
);
const jitter = fc.constantFrom(0, 7, 60).map(ns);
const offset = fc.option(fc.nat(300).map(ns), { nil: undefined });
const spell = distributionOf(fc.integer({ min: 50, max: 900 }), ns);

const issue: fc.Arbitrary<Tree | string> = fc.oneof(
  fc.constantFrom('greedy', 'dependent'),
  fc.record({
    process: fc.constant('dependent'),
    think: distributionOf(fc.nat(200), (value) => ns(value + 1)),
  }),
  fc.tuple(pace, jitter, offset).map(([often, j, o]) => ({ process: 'steady', ...often, jitter: j, offset: o })),
  fc
    .tuple(
      pace,
      distributionOf(fc.integer({ min: 1, max: 4 }), (value) => value),
    )
    .map(([often, batch]) => ({ process: 'poisson', ...often, batch })),
  fc
    .tuple(fc.integer({ min: 1, max: 2048 }), fc.integer({ min: 200, max: 1500 }), jitter, offset)
    .map(([block, every, j, o]) => ({
      process: 'periodic',
      block: bytes(block),
      every: ns(every),
      jitter: j,
      offset: o,
    })),
  fc
    .tuple(pace, fc.constantFrom('steady', 'poisson'), spell, spell)
    .map(([often, within, on, off]) => ({ process: 'on_off', ...often, within, on, off })),
);

const addresses: fc.Arbitrary<Tree | string> = fc.oneof(
  fc.constantFrom('sequential', 'random'),
  fc.record({ pattern: fc.constant('random'), align: fc.constantFrom(4, 1, 256).map(bytes) }),
  fc.record({ pattern: fc.constant('strided'), stride: fc.integer({ min: 1, max: 5000 }).map(bytes) }),
  fc.record({
    pattern: fc.constant('zipf'),
    exponent: fc.constantFrom(0.8, 1.2),
    line: fc.constantFrom(64, 128).map(bytes),
  }),
  fc.record({ pattern: fc.constant('chain'), line: fc.constantFrom(64, 256).map(bytes) }),
);

const operations = fc.oneof(
  fc.constantFrom('read', 'write'),
  fc.integer({ min: 1, max: 99 }).map((share) => ({ read_share: `${share} %` })),
);
const outstanding = fc.oneof(
  fc.integer({ min: 1, max: 8 }),
  fc.record({ reads: fc.integer({ min: 1, max: 8 }), writes: fc.integer({ min: 1, max: 8 }) }),
);

export const master = fc.record({
  /** What it is: a master at a port, a core, or a source wired straight to a device. */
  kind: fc.constantFrom('port', 'port', 'port', 'core', 'core', 'direct'),
  /** Number of the port or device, and of the buffer. */
  at: fc.nat(5),
  where: fc.nat(9),
  clock: fc.oneof({ arbitrary: clockNumber, weight: 9 }, fc.constant(null)),
  core,
  coreBytes: distributionOf(fc.integer({ min: 1, max: 150 }), bytes),
  /** Shares of the run at which it starts and stops. */
  start: fc.constantFrom(0, 0, 0.2),
  stop: fc.constantFrom(1, 1.2, 0.6),
  hit: fc.constantFrom(50, 0, 100, 90),
  keys: fc.record({
    width: width.map(bits),
    sync: fc.nat(3).map(cycles),
    burst: fc.constantFrom(4, 1, 16, 16, 64).map((beats) => `${beats} beats`),
    outstanding,
    ids: fc.integer({ min: 1, max: 4 }),
    same_id_order: fc.constantFrom('port', 'port', 'memory'),
    qos: fc.nat(15),
    operations,
    addresses,
    size: distributionOf(fc.integer({ min: 1, max: 700 }), bytes),
    issue,
    when_full: fc.constantFrom('wait', 'wait', 'drop'),
  }),
});
