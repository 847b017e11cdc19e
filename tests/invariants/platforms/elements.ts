import fc from 'fast-check';
import { arbitration } from './arbitration.js';
import { distributionOf } from './distribution.js';
import { bits, bytes, cycles, ns } from './tree.js';

/** Keys of ports, switches, memories on the chip and devices. Clocks are named by number; who leads where is not said yet. */

export const width = fc.constantFrom(64, 128, 32, 256);
export const clockNumber = fc.nat(3);
const yesNo = fc.constantFrom('yes', 'no');
const limit = fc.oneof(fc.integer({ min: 1, max: 8 }), fc.constant('unlimited'));
const early = fc.constantFrom('final', 'final', 'final', 'early');

/** A frequency or a period, of 100 MHz to 1.2 GHz; many of the periods are no whole number of picoseconds. */
export const clock = fc.oneof(
  fc.constantFrom('200 MHz', '400 MHz', '1 GHz'),
  fc.integer({ min: 100, max: 1200 }).map((mhz) => `${mhz} MHz`),
  fc.integer({ min: 301, max: 3001 }).map((thirds) => `${thirds}/3 MHz`),
  fc.integer({ min: 833, max: 9999 }).map((ps) => ({ period: `${ps} ps` })),
);

const regulator = fc
  .record({ rate: fc.integer({ min: 100, max: 4000 }), depth: fc.integer({ min: 1, max: 2048 }) })
  .map(({ rate, depth }) => ({ rate: `${rate} MB/s`, depth: bytes(depth) }));

const outstanding = fc.oneof(limit, fc.record({ reads: limit, writes: limit }));

export const port = fc.record({
  clock: clockNumber,
  arbitration,
  coherent: fc.constantFrom(false, false, true),
  /** Number of the switch that it leads to, and of a further element that it leads to itself. */
  to: fc.nat(3),
  aside: fc.option(fc.nat(3)),
  keys: fc.record({
    width: width.map(bits),
    forward: fc.integer({ min: 1, max: 3 }).map(cycles),
    back: fc.integer({ min: 1, max: 3 }).map(cycles),
    sync: fc.nat(3).map(cycles),
    queue_depth: fc.integer({ min: 1, max: 5 }),
    outstanding,
    return_space: fc.oneof(fc.constant('as_needed'), fc.integer({ min: 16, max: 1024 }).map(bytes)),
    qos: fc.option(fc.nat(15), { nil: undefined }),
    regulator: fc.option(regulator, { nil: undefined, freq: 2 }),
    in_flight: fc.oneof({ arbitrary: fc.constant('unlimited'), weight: 3 }, limit),
    pack: fc.constantFrom('yes', 'yes', 'no'),
    write_start: fc.constantFrom('whole_burst', 'first_beat'),
    write_response: early,
  }),
});

export const crossbar = fc.record({
  clock: clockNumber,
  arbitration,
  /** Which memories and devices it leads to besides the next switch. */
  to: fc.array(fc.nat(4), { maxLength: 3 }),
  keys: fc.record({
    width: width.map(bits),
    forward: fc.integer({ min: 1, max: 4 }).map(cycles),
    back: fc.integer({ min: 1, max: 3 }).map(cycles),
    sync: fc.nat(3).map(cycles),
    queue_depth: fc.integer({ min: 1, max: 5 }),
    queues: fc.constantFrom('per_input', 'per_output'),
    pack: fc.constantFrom('yes', 'yes', 'no'),
    write_response: early,
  }),
});

export const onChip = fc.record({
  clock: clockNumber,
  arbitration,
  keys: fc.record({
    kind: fc.constant('onchip'),
    width: width.map(bits),
    sync: fc.nat(3).map(cycles),
    size: fc.constant('128 KiB'),
    banks: fc.integer({ min: 1, max: 4 }),
    interleave: fc.constantFrom(64, 32, 128, 48).map(bytes),
    access: fc.integer({ min: 1, max: 5 }).map(cycles),
    queue_depth: fc.integer({ min: 1, max: 5 }),
  }),
});

export const device = fc.record({
  clock: fc.option(clockNumber),
  arbitration,
  keys: fc.record({
    width: width.map(bits),
    sync: fc.nat(3).map(cycles),
    size: fc.constant('16 KiB'),
    servers: fc.integer({ min: 1, max: 3 }),
    service: distributionOf(fc.integer({ min: 5, max: 200 }), ns),
    queue_depth: fc.oneof(fc.constant('unlimited'), fc.integer({ min: 1, max: 4 })),
    full: fc.constantFrom('hold', 'lose'),
  }),
});

const replacement = fc.constantFrom('lru', 'tree_plru', 'fifo', 'random');
const ways = fc.constantFrom(1, 2, 4);
const lookups = fc.integer({ min: 1, max: 8 }).map(cycles);
const further = fc.nat(14).map(cycles);

export const coherence = fc.record({
  clock: clockNumber,
  arbitration,
  /** Number of the switch that it leads to, and whether it leads straight to the first memory too. */
  to: fc.nat(3),
  aside: fc.boolean(),
  minimum: fc.integer({ min: 1, max: 2 }),
  spare: fc.nat(4),
  keys: fc.record({
    width: fc.constantFrom(128, 64, 256).map(bits),
    line: fc.constantFrom(64, 32, 128).map(bytes),
    sync: fc.nat(3).map(cycles),
    model: fc.constantFrom('structural', 'structural', 'statistical'),
    l2: fc.record({
      size: fc.constantFrom(4, 2, 16).map((kib) => `${kib} KiB`),
      ways,
      replacement,
      inclusive: yesNo,
    }),
    lookup: lookups,
    data: further,
    intervention: further,
    upgrade: fc.option(further, { nil: undefined }),
    fill: fc.nat(3).map(cycles),
    bypass: fc.record({
      forward: fc.integer({ min: 1, max: 3 }).map(cycles),
      back: fc.integer({ min: 1, max: 3 }).map(cycles),
    }),
    queue_depth: fc.integer({ min: 1, max: 4 }),
    writeback_slots: fc.integer({ min: 1, max: 5 }),
    partial_write_miss: fc.constantFrom('fetch', 'through'),
    allocate: fc.record({ reads: yesNo, writes: yesNo }),
    dirty_share: fc.nat(100).map((share) => `${share} %`),
  }),
});

/** The private cache and the pace of a core. */
export const core = fc.record({
  l1: fc.record({ size: fc.constantFrom(1, 2, 4).map((kib) => `${kib} KiB`), ways, replacement }),
  hit: fc.integer({ min: 1, max: 4 }).map(cycles),
  parallelism: fc.integer({ min: 1, max: 4 }),
});
