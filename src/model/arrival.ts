import type { Clock } from '../engine/clock.js';

/** When what reaches an element of `clock` at `timePs` is usable there, after `sync` synchroniser cycles. */
export function arrive(clock: Clock, timePs: number, sync: number): number {
  return clock.at(clock.indexFrom(timePs) + sync);
}
