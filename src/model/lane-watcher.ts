import type { Lane } from './lane.js';

/** Told when a burst's last beat has left a lane, which frees what the burst held there. */
export interface LaneWatcher {
  /** The last beat of `slot` leaves in the cycle that ends at the lane's `freeAt`. */
  left(slot: number, lane: Pick<Lane, 'freeAt'>): void;
}
