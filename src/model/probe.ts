/**
 * What the model tells whoever watches. Every method does nothing here, so this class is the silent probe; recorders
 * override what they need and read the rest from the burst's record. Arguments are small whole numbers: `slot` is a
 * burst's place in `Bursts`, elements and masters are numbers of the system's lists. The instant is `calendar.now`
 * unless a time is named.
 */
export class Probe {
  /**
   * A request came into being at its wanted instant. That is not always `calendar.now`: a core that only hits runs ahead of
   * it, one that goes past the caches hands over late.
   */
  requestWanted(_master: number, _write: boolean, _bytes: number, _wantedPs: number): void {}
  /** A request wanted at `wantedPs` was lost because nothing could take it (`when_full: drop`). */
  requestDropped(_master: number, _write: boolean, _bytes: number, _wantedPs: number): void {}
  /** A burst that was presented found the first queue full and was lost; its slot is free once this returns. */
  lost(_slot: number): void {}
  /** The master presents a burst at its port for the first time. */
  offered(_slot: number): void {}
  /** The port has taken the burst. */
  accepted(_slot: number): void {}
  /** An output was granted; `hop` is the element's place on the burst's route. */
  granted(_slot: number, _element: number, _hop: number): void {}
  /** A burst that could act is held back at an element by the burst `by` (its slot), or by none (−1): no room beyond. */
  waits(_slot: number, _element: number, _by: number): void {}
  /** A burst has reached the unit that serves it, or will, at `bursts.enteredAt`. */
  entered(_slot: number, _element: number): void {}
  /** The return path of an element was granted, at the instant `bursts.returnedAt`. */
  returning(_slot: number, _element: number, _hop: number): void {}
  /** A burst is done: its record is complete, and its slot is free once this returns. */
  completed(_slot: number): void {}
  /** All bursts of a request are done. */
  requestCompleted(_master: number, _write: boolean, _wantedPs: number, _bytes: number): void {}
  /** Bytes moved between master and port, a beat a cycle, the first of them at `timePs`. */
  moved(_master: number, _write: boolean, _bytes: number, _timePs: number): void {}
  /** A DRAM command was issued; `kind` as in `dram/command.ts`, `clock` its number on the DRAM's own clock. */
  command(
    _element: number,
    _channel: number,
    _rank: number,
    _group: number,
    _bank: number,
    _row: number,
    _kind: number,
    _clock: number,
  ): void {}
  /** A tag lookup of a cache (0 = the shared cache, 1 + n = the L1 of the n-th core) by a master. */
  lookup(_element: number, _cache: number, _master: number, _line: number, _hit: boolean): void {}
}
