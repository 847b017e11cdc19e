import type { RequestTable } from './request-table.js';
import type { Window } from './window.js';

/** When what is not back was wanted, in ps: one entry a burst, and one a request that may still be completed. */
export interface Unfinished {
  readonly bursts: readonly number[];
  readonly requests: readonly number[];
}

/** Gathers at the end of a run what was wanted inside the window and is not back. */
export class OpenRequests {
  /** Bursts that are not back, by request. */
  private readonly open = new Map<number, number>();

  constructor(
    private readonly table: RequestTable,
    private readonly window: Window,
  ) {}

  /** So many more bursts of a request are not back. */
  add(request: number, bursts: number): void {
    if (bursts === 0 || !this.window.holds(this.table.wantedAt[request]!)) return;
    this.open.set(request, (this.open.get(request) ?? 0) + bursts);
  }

  unfinished(): Unfinished {
    const { table } = this;
    const open = [...this.open];
    return {
      bursts: open.flatMap(([request, bursts]) => Array.from({ length: bursts }, () => table.wantedAt[request]!)),
      // one that has lost a burst never completes
      requests: open.filter(([request]) => table.lost[request] === 0).map(([request]) => table.wantedAt[request]!),
    };
  }
}
