import fc from 'fast-check';
import { distributionOf } from './distribution.js';
import { bytes, ns, type Tree } from './tree.js';

/** Tasks over the masters of a random platform. Times are short, as those of the masters. */

const step = fc.record({
  kind: fc.constantFrom('read', 'write', 'hand_over', 'hand_over', 'take_back', 'compute', 'fetch', 'doorbell', 'poll'),
  by: fc.nat(9),
  other: fc.nat(9),
  at: fc.nat(1500),
  bytes: fc.integer({ min: 1, max: 300 }),
  rotate: fc.boolean(),
  use: fc.constantFrom('read', 'write', 'both', undefined),
  time: distributionOf(fc.nat(300), (value) => ns(value + 1)),
  every: fc.integer({ min: 1, max: 200 }).map(ns),
});

export type StepDraw = typeof step extends fc.Arbitrary<infer V> ? V : never;

const trigger: fc.Arbitrary<Tree> = fc.oneof(
  fc
    .tuple(fc.integer({ min: 150, max: 1500 }), fc.nat(300), fc.constantFrom(0, 0, 40))
    .map(([every, offset, jitter]) => ({
      process: 'periodic',
      every: ns(every),
      offset: ns(offset),
      jitter: ns(jitter),
    })),
  fc.integer({ min: 150, max: 1500 }).map((every) => ({ process: 'poisson', every: ns(every) })),
);

export const task = fc.record({
  trigger,
  /** Comes after the task before it. */
  follows: fc.boolean(),
  steps: fc.array(step, { minLength: 1, maxLength: 5 }),
  keys: fc.record({
    overlap: fc.constantFrom(1, 2, 'unlimited'),
    when_full: fc.constantFrom('queue', 'drop'),
    deadline: fc.constantFrom('1 us', undefined),
  }),
});

export type TaskDraw = typeof task extends fc.Arbitrary<infer V> ? V : never;

/** A master that a step may name. */
export interface Worker {
  readonly name: string;
  readonly buffer: string;
  readonly cached: string;
  readonly core: boolean;
  /** Does it stand at a port, from where every memory is reached? */
  readonly atPort: boolean;
}

/** The keys of a task; null where nobody can do any of its steps. */
export function writtenTask(
  draw: TaskDraw,
  before: string | null,
  workers: readonly Worker[],
  stop: string,
): Tree | null {
  const steps = draw.steps.flatMap((one) => writtenStep(one, workers));
  if (steps.length === 0) return null;
  // at most one poll: two could be under way at once
  const firstPoll = steps.findIndex((one) => one['do'] === 'poll');
  return {
    trigger: draw.follows && before !== null ? { process: 'after', task: before } : draw.trigger,
    steps: steps.filter((one, at) => one['do'] !== 'poll' || at === firstPoll),
    stop,
    ...draw.keys,
  };
}

function writtenStep(draw: StepDraw, workers: readonly Worker[]): Tree[] {
  const pick = (some: readonly Worker[], number: number): Worker | undefined => some[number % some.length];
  const place = { offset: bytes(draw.at), bytes: bytes(draw.bytes), rotate: draw.rotate ? 'yes' : 'no' };
  const cores = workers.filter(({ core }) => core);
  const others = workers.filter(({ core, atPort }) => !core && atPort);
  switch (draw.kind) {
    case 'read':
    case 'write':
    case 'fetch': {
      const by = pick(workers, draw.by);
      return by === undefined ? [] : [{ do: draw.kind, master: by.name, ...place }];
    }
    case 'hand_over':
    case 'take_back': {
      const own = pick(cores.length > 0 ? cores : others, draw.by);
      const other = pick(others, draw.other);
      if (own === undefined || other === undefined || own === other) return [];
      const [from, to] = draw.kind === 'hand_over' ? [own, other] : [other, own];
      return [{ do: draw.kind, from: from.name, to: to.name, buffer: own.buffer, ...place, use: draw.use }];
    }
    case 'doorbell': {
      const by = pick(
        cores.filter(({ cached }) => cached === 'no'),
        draw.by,
      );
      return by === undefined ? [] : [{ do: 'doorbell', core: by.name, offset: bytes(draw.at) }];
    }
    case 'poll': {
      const by = pick(cores, draw.by);
      const sets = others.find(({ buffer }) => buffer === by?.buffer);
      if (by === undefined || sets === undefined) return [];
      const flag = { offset: bytes(draw.at), bytes: '4 B' };
      return [
        { do: 'write', master: sets.name, ...flag },
        { do: 'poll', core: by.name, ...flag, every: draw.every },
      ];
    }
    default:
      return [{ do: 'compute', time: draw.time }];
  }
}
