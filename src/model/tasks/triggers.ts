import { randomStream } from '../../engine/random.js';
import type { TaskSpec } from '../../scenario/scenario.js';
import { type Arrivals, BatchArrivals, SteadyArrivals } from '../../traffic/arrivals.js';
import { roundedDraw } from '../../traffic/distribution.js';
import { ExactTime } from '../../traffic/exact-time.js';
import { ownerOf } from './step-draws.js';

/**
 * The instants at which a task's instances come into being; null where they follow the ends of another. A period without a
 * stated offset takes one at random, once per replication.
 */
export function triggersOf({ name, trigger }: TaskSpec, seed: string, replication: number): Arrivals | null {
  const stream = (purpose: string) => randomStream(seed, replication, ownerOf(name), purpose);
  switch (trigger.process) {
    case 'periodic': {
      const { everyPs, offsetPs, jitterPs } = trigger;
      const first = offsetPs ?? Math.floor(stream('offset')() * everyPs);
      const random = stream('jitter');
      const jitter = jitterPs === 0 ? () => 0 : () => Math.floor(random() * (jitterPs + 1));
      return new SteadyArrivals(first, new ExactTime(everyPs, 1), false, jitter);
    }
    case 'poisson': {
      const gap = roundedDraw({ kind: 'exponential', mean: trigger.everyPs }, stream('gap'));
      return new BatchArrivals(0, gap, () => 1);
    }
    case 'after':
      return null;
  }
}
