import type { Clock } from '../engine/clock.js';

/** When what reaches an element of `clock` at `timePs` is usable there, after `sync` synchroniser cycles. */
export function arrive(clock: Clock, timePs: number, sync: number): number {
  return clock.at(clock.indexFrom(timePs) + sync);
}

/** The same for what leaves an element of clock `from` at an edge of it: within one clock it is usable at once. */
export function handOver(from: Clock, to: Clock, timePs: number, sync: number): number {
  return from === to ? timePs : arrive(to, timePs, sync);
}
