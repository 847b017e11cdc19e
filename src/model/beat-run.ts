// Hot path: once per run of beats and hop on the way back.
import { handOver } from './arrival.js';
import type { Bursts } from './bursts.js';

/**
 * Beats `first` to `end` − 1 of a burst at `hop` reach the hop before, a cycle each: beat k leaves at edge `edge` + k of
 * this hop's clock.
 */
export function passRun(bursts: Bursts, slot: number, hop: number, first: number, end: number, edge: number): void {
  const { hops } = bursts.routes[slot]!;
  const here = hops[hop]!;
  const before = hops[hop - 1]!;
  const { clock } = here;
  if (clock === before.clock && here.beatBytes === before.beatBytes) {
    // nothing changes on the way: the same beats, at the edges at which they come
    const base = bursts.beatBase(slot, hop - 1);
    for (let k = first; k < end; k++) bursts.beats[base + k] = clock.at(edge + k);
    return;
  }
  for (let k = first; k < end; k++) {
    bursts.passBeat(slot, hop, hop - 1, k, handOver(clock, before.clock, clock.at(edge + k), before.syncBack));
  }
}
