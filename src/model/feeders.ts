import type { Clock } from '../engine/clock.js';
import type { ReturnLane } from './return-lane.js';
import type { Hop } from './route.js';

/** Who feeds which lane on the way back, over all routes of a system: tells which lanes have nothing to decide. */
export class Feeders {
  /** By lane: the one lane that feeds it, or null where there are several or something stands between. */
  private readonly of = new Map<ReturnLane, ReturnLane | null>();

  /** Adds a route of one direction. */
  add(hops: readonly Hop[], write: boolean): void {
    const lane = (hop: Hop): ReturnLane => (write ? hop.writeLane : hop.readLane);
    for (const [i, hop] of hops.entries()) {
      const after = hops[i + 1];
      // the last element, and one that answers writes itself, put answers in directly
      const direct = after === undefined || (write && hop.early);
      const feeder = direct || !keepsApart(after.clock, hop.clock) ? null : lane(after);
      const known = this.of.get(lane(hop));
      this.of.set(lane(hop), known === undefined || known === feeder ? feeder : null);
    }
  }

  /** Marks the lanes that only one other feeds, none of whose answers ever come in at one instant. */
  markStraight(): void {
    for (const [lane, feeder] of this.of) lane.straight = feeder !== null;
  }
}

/**
 * Do different edges of `from` reach different edges of `to`? Where a slower clock gathers two arrivals at one edge, there
 * is something to decide between them. A rounded edge lies up to half a picosecond off, so nearly equal periods do not count.
 */
function keepsApart(from: Clock, to: Clock): boolean {
  const difference = from.numerator / from.denominator - to.numerator / to.denominator;
  return difference >= 1 || (from.numerator === to.numerator && from.denominator === to.denominator);
}
