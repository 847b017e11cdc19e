import { type Clock, crossing } from '../engine/clock.js';

/** Bytes [low, high) of a burst that are there at `atPs`. */
export interface Piece {
  readonly low: number;
  readonly high: number;
  readonly atPs: number;
}

/**
 * The data of one burst on its way through idle elements, as a list of pieces in address order. This is the plain
 * statement of how beats move that the unloaded latency is computed from; the simulator has its own and must agree.
 */
export type Train = readonly Piece[];

/** All bytes of a burst, there at once. */
export function whole(address: number, bytes: number, atPs: number): Train {
  return [{ low: address, high: address + bytes, atPs }];
}

/** The same data in beats of `size` bytes: each is there when the last of its bytes is. A gap in it has none. */
export function inBeats(train: Train, size: number): Train {
  const low = train[0]!.low;
  const high = train.at(-1)!.high;
  const beats: Piece[] = [];
  // pieces and beats are both in order of address: one walk over them, as `check` does this tens of thousands of times
  let first = 0;
  for (let start = Math.floor(low / size) * size; start < high; start += size) {
    const from = Math.max(start, low);
    const to = Math.min(start + size, high);
    while (train[first]!.high <= from) first++;
    let atPs = -Infinity;
    for (let i = first; i < train.length && train[i]!.low < to; i++) atPs = Math.max(atPs, train[i]!.atPs);
    if (atPs > -Infinity) beats.push({ low: from, high: to, atPs });
  }
  return beats;
}

/** The beats sent by an idle element: one a cycle from edge `firstEdge` on, none before it is there, `cycles` under way. */
export function sent(train: Train, clock: Clock, firstEdge: number, cycles: number): Train {
  let edge = firstEdge - 1;
  return train.map(({ low, high, atPs }) => {
    edge = Math.max(edge + 1, clock.indexFrom(atPs));
    return { low, high, atPs: clock.at(edge + cycles) };
  });
}

/** The pieces, each at an edge of clock `from`, as usable in clock `to`, after its synchroniser where it is another. */
export function crossed(train: Train, from: Clock, to: Clock, syncCycles: number): Train {
  if (from.name === to.name) return train;
  const sync = crossing(from, to, syncCycles);
  return train.map(({ low, high, atPs }) => ({ low, high, atPs: to.after(atPs, sync) }));
}

/** When the first and the last piece are there. */
export const firstAt = (train: Train): number => Math.min(...train.map((piece) => piece.atPs));
export const lastAt = (train: Train): number => Math.max(...train.map((piece) => piece.atPs));
