import { keyedDraw } from '../../engine/random.js';
import type { TaskSpec } from '../../scenario/scenario.js';
import { roundedDraw } from '../../traffic/distribution.js';

/** A task as the owner of random streams: no master bears such a name. */
export const ownerOf = (task: string): string => `task ${task}`;

/** What is drawn for the steps of a task, by instance: whoever else draws, and what is dropped, changes nothing. */
export interface StepDraws {
  /** How long step `step` of an instance waits, in ps. */
  wait(step: number, instance: number): number;
  /** Uniform in [0, 1): the service of the n-th request of a step at a device. */
  service(step: number, instance: number, request: number): number;
  /** Below zero: what the draws of the n-th request of a step at a cache by ratios go by. */
  key(step: number, instance: number, request: number): number;
  /** Uniform in [0, 1): is the n-th line of what a step hands over dirty, in a cache by ratios? */
  dirty(step: number, instance: number, line: number): number;
}

export function stepDraws({ name, steps }: TaskSpec, seed: string, replication: number): StepDraws {
  const keyed = (purpose: string) => keyedDraw(seed, replication, ownerOf(name), purpose);
  const wait = keyed('wait');
  const service = keyed('service');
  const lookup = keyed('lookup');
  const dirty = keyed('dirty');
  let u = 0;
  const waits = steps.map((step) => (step.do === 'wait' ? roundedDraw(step.time, () => u) : () => 0));
  return {
    wait: (step, instance) => {
      u = wait(step, instance);
      return waits[step]!();
    },
    service: (step, instance, request) => service(step, instance, request),
    key: (step, instance, request) => -1 - Math.floor(lookup(step, instance, request) * 2 ** 52),
    dirty: (step, instance, line) => dirty(step, instance, line),
  };
}
