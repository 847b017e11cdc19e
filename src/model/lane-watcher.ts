/** Told when a burst's last beat has left a lane, which frees what the burst held there. */
export interface LaneWatcher {
  /** The last beat of `slot` leaves in the cycle that ends at `timePs`. */
  left(slot: number, timePs: number): void;
}
