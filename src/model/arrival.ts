import type { Clock } from '../engine/clock.js';

/** When what reaches an element of `clock` at `timePs` is usable there, after `sync` synchroniser cycles. */
export function arrive(clock: Clock, timePs: number, sync: number): number {
  return clock.at(clock.indexFrom(timePs) + sync);
}

/**
 * The same for what leaves an element of clock `from` at `edge` of it: within one clock it is usable at once. The instant is
 * written to a place in `times`, as a time that is answered is put on the heap.
 */
export function handOver(from: Clock, edge: number, to: Clock, sync: number, times: Float64Array, place: number): void {
  times[place] = from === to ? from.at(edge) : to.at(to.indexFrom(from.at(edge)) + sync);
}
