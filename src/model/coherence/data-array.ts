// Hot path: one call per line that is read from or written to the shared cache.
import type { Clock } from '../../engine/clock.js';
import type { ChannelUse } from '../element.js';
import { TimeMeter, type Window } from '../window.js';

/** The data array of a shared cache: a beat a cycle, for one line after another in the order in which they ask. */
export class DataArray {
  private readonly busy: TimeMeter;
  private grants = 0;
  /** Edge from which on it is free. */
  private free = 0;

  constructor(
    private readonly clock: Clock,
    private readonly window: Window,
  ) {
    this.busy = new TimeMeter(window);
  }

  /** Takes it for so many beats from `edge` on, or from when it is free; answers the edge at which that starts. */
  book(edge: number, beats: number): number {
    const start = Math.max(edge, this.free);
    this.free = start + beats;
    const from = this.clock.at(start);
    if (this.window.holds(from)) this.grants++;
    this.busy.add(from, this.clock.at(this.free));
    return start;
  }

  use(): ChannelUse {
    return { name: 'data', kind: 'channel', busy: this.busy, stalled: null, grants: this.grants };
  }
}
