// Hot path: see `calendar.ts`. A record's field is reached by one load, an element of a typed array by three and a bound;
// fields that hold times start as what is no whole number, so that they are doubles from the first.
import type { Actor } from './calendar.js';

/** A phase outweighs every order within one; more events than this take centuries. */
export const PHASE_RANK = 2 ** 50;

/** Where an armed carrier is kept. */
export const Place = { none: 0, wheel: 1, far: 2 } as const;

/** What the calendar keeps of one thing that can be pending at most once. Only the event list writes to it. */
export class Carrier {
  /** When it is due; Infinity while it is not armed. */
  due = Infinity;
  /** Phase × PHASE_RANK; that plus the order of the arming, which decides at one instant. */
  phase = 0.5;
  rank = 0.5;
  place: number = Place.none;
  /** In the wheel: the slot that it hangs in. */
  slot = 0;
  /** The next one in its slot. */
  later: Carrier | null = null;
  /** How often it has been put on the far list, or taken off. */
  arming = 0;
  /** The actor's `wake`, found once: looking it up per event is slow where there are many kinds of actor. */
  readonly wake: Actor['wake'];

  constructor(
    readonly actor: Actor,
    readonly tag: number,
    phase: number,
  ) {
    this.phase = phase * PHASE_RANK;
    // oxlint-disable-next-line typescript/unbound-method -- the calendar calls it on its actor
    this.wake = actor.wake;
  }
}

/** Is `a` due before `b`? */
export function before(a: Carrier, b: Carrier): boolean {
  return a.due !== b.due ? a.due < b.due : a.rank < b.rank;
}
