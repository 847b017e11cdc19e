import type { WantedRequest } from '../request-table.js';
import type { Window } from '../window.js';

/** A request that a core has not begun. */
export interface HeldRequest extends WantedRequest {
  /** Number under which a task wants it; −1: the core itself. */
  readonly ask: number;
}

/** Requests of one direction that a core keeps back, in order. */
export class HeldRequests {
  private readonly queue: HeldRequest[] = [];

  constructor(private readonly window: Window) {}

  push(request: HeldRequest): void {
    this.queue.push(request);
  }

  peek(): HeldRequest {
    return this.queue[0]!;
  }

  shift(): HeldRequest {
    return this.queue.shift()!;
  }

  /** When those of them were wanted that were wanted inside the window. */
  wantedInside(): number[] {
    return this.queue.map(({ wantedPs }) => wantedPs).filter((wantedPs) => this.window.holds(wantedPs));
  }
}
