// Hot path: once per run of beats and hop, either way. Edges are passed, not times, since a call that is not inlined would
// put a time on the heap.
import type { Bursts } from './bursts.js';

/**
 * Beats `first` to `end` − 1 of a burst pass from hop `from` to its neighbour `to`, a cycle each: beat k leaves at edge
 * `edge` + k of the clock of `from`, and is usable beyond once it has crossed into the other clock.
 */
export function passRun(
  bursts: Bursts,
  slot: number,
  from: number,
  to: number,
  first: number,
  end: number,
  edge: number,
): void {
  const { hops } = bursts.routes[slot]!;
  const here = hops[from]!;
  const beyond = hops[to]!;
  const { clock } = here;
  if (clock === beyond.clock && here.beatBytes === beyond.beatBytes) {
    // nothing changes on the way: the same beats, at the edges at which they come
    const { beats } = bursts;
    const base = bursts.beatBase(slot, to);
    for (let k = first; k < end; k++) beats[base + k] = clock.at(edge + k);
    return;
  }
  const sync = to > from ? beyond.syncIn : beyond.syncBack;
  for (let k = first; k < end; k++) {
    const usable = clock === beyond.clock ? edge + k : beyond.clock.indexFrom(clock.at(edge + k)) + sync;
    bursts.passBeat(slot, from, to, k, beyond.clock, usable);
  }
}
