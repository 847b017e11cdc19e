import type { WantedRequest } from '../request-table.js';
import type { Window } from '../window.js';

/** Requests of one direction that a core keeps back, in order. */
export class HeldRequests {
  private readonly queue: WantedRequest[] = [];

  constructor(private readonly window: Window) {}

  push(request: WantedRequest): void {
    this.queue.push(request);
  }

  peek(): WantedRequest {
    return this.queue[0]!;
  }

  shift(): WantedRequest {
    return this.queue.shift()!;
  }

  /** When those of them were wanted that were wanted inside the window. */
  wantedInside(): number[] {
    return this.queue.map(({ wantedPs }) => wantedPs).filter((wantedPs) => this.window.holds(wantedPs));
  }
}
