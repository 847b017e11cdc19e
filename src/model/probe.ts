import type { Access } from './dram/access.js';
import type { Channel } from './dram/channel.js';
import type { RequestTable } from './request-table.js';

/**
 * What the model tells whoever watches. Every method does nothing here, so this class is the silent probe; recorders
 * override what they need and read the rest from the burst's record. Arguments are small whole numbers: `slot` is a
 * burst's place in `Bursts`, elements and masters are numbers of the system's lists. The instant is `calendar.now`
 * unless a time is named.
 */
export class Probe {
  /**
   * A request, number `request` of its table, came into being at its wanted instant. That is not always `calendar.now`: a
   * core that only hits runs ahead of it, one that goes past the caches hands over late.
   */
  requestWanted(_master: number, _write: boolean, _requests: RequestTable, _request: number): void {}
  /** A core that goes past the caches keeps back a request that was wanted at `wantedPs`; `requestWanted` is told later. */
  keptBack(_master: number, _write: boolean, _bytes: number, _wantedPs: number): void {}
  /** It keeps it back no longer: it begins it, or merges it with others. */
  letGo(_master: number, _write: boolean, _bytes: number, _wantedPs: number): void {}
  /** A request wanted at `wantedPs` was lost because nothing could take it (`when_full: drop`). */
  requestDropped(_master: number, _write: boolean, _bytes: number, _wantedPs: number): void {}
  /** A burst that was presented found the first queue full and was lost; its slot is free once this returns. */
  lost(_slot: number): void {}
  /** The master presents a burst at its port for the first time. */
  offered(_slot: number): void {}
  /** The port has taken the burst. */
  accepted(_slot: number): void {}
  /**
   * An output was granted; `hop` is the element's place on the burst's route, `place` the output's number among all places.
   * The burst heads its queue still, whose `eligibleAt` says until when it holds output and input.
   */
  granted(_slot: number, _element: number, _hop: number, _place: number): void {}
  /** A burst finds no room beyond an element, as far as is known, at `fromPs`, from when on it could be let on. */
  waits(_slot: number, _element: number, _fromPs: number): void {}
  /** A burst is not let on now, but not for want of room: a place may have turned up since `waits` was told ahead of time. */
  findsRoom(_slot: number): void {}
  /** A server or a bank of an element, which `unit` counts, is taken by a burst from now to `untilPs`. */
  taken(_slot: number, _element: number, _unit: number, _untilPs: number): void {}
  /** A front end lets a column access of a burst in, now, which will enter `channel`'s queue. */
  cut(_slot: number, _element: number, _channel: Channel, _access: Access, _last: boolean): void {}
  /** The first command for an access is chosen, at `clock` of the DRAM; the channel's state is that from before it. */
  chosen(_element: number, _channel: Channel, _access: Access, _found: number, _clock: number): void {}
  /** An access has its column command, or its answer from the write queue, at `clock`; a read's data is usable at `readyPs`. */
  served(_element: number, _channel: Channel, _access: Access, _clock: number, _readyPs: number): void {}
  /** A refresh at clock `at` kept a rank (or its bank number `bank`, where that is not −1) from clock `from` to clock `to`. */
  refreshed(
    _element: number,
    _channel: Channel,
    _rank: number,
    _bank: number,
    _from: number,
    _to: number,
    _at: number,
  ): void {}
  /** Line number `index` of a burst is looked up at the tags of a coherence unit; −1: a line that a core gave up. */
  lookedUp(_slot: number, _element: number, _index: number, _master: number): void {}
  /**
   * A line of a burst is answered: a read's data is all usable at `edge` of the unit's clock, a write's is accepted then.
   * `snoop` cycles of it went to other caches, and `child` (−1: none) is the burst that brought the line.
   */
  lineAnswered(_slot: number, _element: number, _index: number, _edge: number, _snoop: number, _child: number): void {}
  /** A line of a burst that waited for the burst `child` is to be looked up again. */
  lineReturned(_slot: number, _index: number, _child: number): void {}
  /** An element sends a burst of its own, for line `index` of one that it serves. */
  injected(_slot: number, _index: number): void {}
  /** An access of a core that waited for the line of another, `flight`, is about to be done with it. */
  lineJoined(_slot: number, _flight: number): void {}
  /** A burst's beats leave an element on the way back, `cycles` of them in a row from `edge` on; `last`: it is whole. */
  sent(_slot: number, _hop: number, _edge: number, _cycles: number, _last: boolean): void {}
  /** A burst is done: its record is complete, and its slot is free once this returns. */
  completed(_slot: number): void {}
  /** All bursts of a request are done; its number in the table is free once this returns. */
  requestCompleted(_master: number, _write: boolean, _requests: RequestTable, _request: number): void {}
  /** A task's instance found as many under way as may be: it is lost, or waits. */
  taskDropped(_task: number, _triggeredPs: number): void {}
  taskQueued(_task: number, _triggeredPs: number): void {}
  /** The last step of an instance is done, now; `upkeepPs` of its time went to hand-overs. */
  taskEnded(_task: number, _triggeredPs: number, _upkeepPs: number): void {}
  /** Bytes moved between master and port, a beat a cycle of the master: `first` bytes at `timePs`, then whole beats. */
  moved(_master: number, _write: boolean, _bytes: number, _timePs: number, _first: number): void {}
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
