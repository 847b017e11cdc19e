import { type Clock, crossing } from '../engine/clock.js';
import { crossed, firstAt, inBeats, lastAt, sent, type Train, whole } from './train.js';

/** An element on an idle path, as far as its timing is concerned. */
export interface IdleHop {
  readonly name: string;
  readonly clock: Clock;
  readonly syncCycles: number;
  /** Bytes of a beat in the burst's direction of data. */
  readonly beatBytes: number;
  readonly forwardCycles: number;
  readonly backwardCycles: number;
  /** Does it wait for all of a write's data before it asks (a port)? */
  readonly collects: boolean;
  /** Does it answer a write itself once it has it whole? */
  readonly early: boolean;
}

/** The last element of an idle path: what it does with a burst. Times are usable instants in its own clock. */
export interface IdleEnd extends IdleHop {
  /** The data on the way back, from the instant at which the address can act. */
  read(address: number, bytes: number, atPs: number): Train;
  /** The same for a line each of one burst, from the instant at which each address can act; memories only. */
  readLines?(ready: Train): Train;
  /**
   * When a write is accepted as final, from its data as it comes in; of several that follow one another, of which `ends` has
   * the byte after each, when the last is.
   */
  write(data: Train, ends?: readonly number[]): number;
}

/** An idle path from a master to the element that serves it. */
export interface IdlePath {
  readonly master: { readonly clock: Clock; readonly widthBytes: number; readonly syncCycles: number };
  readonly hops: readonly IdleHop[];
  readonly end: IdleEnd;
}

/** One step of an unloaded burst. */
export interface IdleStage {
  readonly element: string;
  readonly stage: 'issue' | 'forward' | 'service' | 'return' | 'delivery';
  readonly fromPs: number;
  readonly toPs: number;
}

/** The latency of a burst that meets nothing else, and where it goes. */
export interface Unloaded {
  readonly totalPs: number;
  readonly stages: readonly IdleStage[];
}

/**
 * U: the latency of a burst wanted at `wantedPs` when everything on its path is idle and every timer has expired. A pure
 * function that shares only the clocks' edges with the simulator; its stages follow one another without gap.
 */
export function unloadedRead(path: IdlePath, address: number, bytes: number, wantedPs: number): Unloaded {
  const log = new StageLog(wantedPs);
  const { master, end } = path;
  if (isImmediate(path)) return log.close(end.name, 'service', lastAt(end.read(address, bytes, wantedPs)));
  const all = [...path.hops, end];
  let at = master.clock.after(wantedPs, 1);
  let from: Clock = master.clock;
  log.until('master', 'issue', at);
  for (const hop of all) {
    at = hop.clock.after(at, crossing(from, hop.clock, hop.syncCycles));
    from = hop.clock;
    if (hop === end) break;
    at = hop.clock.after(at, hop.forwardCycles);
    log.until(hop.name, 'forward', at);
  }
  let data = end.read(address, bytes, at);
  log.until(end.name, 'service', firstAt(data));
  for (const [i, hop] of [...all.entries()].toReversed()) {
    const beats = inBeats(data, hop.beatBytes);
    data = sent(beats, hop.clock, 0, hop.backwardCycles);
    log.until(hop.name, 'return', lastAt(data));
    const before = i > 0 ? all[i - 1]! : master;
    data = crossed(data, hop.clock, before.clock, before.syncCycles);
  }
  const done = lastAt(sent(inBeats(data, master.widthBytes), master.clock, 0, 0));
  return log.close('master', 'delivery', done);
}

/** U for a write; see `unloadedRead`. */
export function unloadedWrite(path: IdlePath, address: number, bytes: number, wantedPs: number): Unloaded {
  const log = new StageLog(wantedPs);
  const { master, end } = path;
  if (isImmediate(path)) return log.close(end.name, 'service', end.write(whole(address, bytes, wantedPs)));
  const all = [...path.hops, end];
  const start = master.clock.indexFrom(wantedPs);
  let data = sent(inBeats(whole(address, bytes, wantedPs), master.widthBytes), master.clock, start, 1);
  let from: Clock = master.clock;
  log.until('master', 'issue', lastAt(data));
  let answered: number | null = null;
  let answeredBy = all.length - 1;
  for (const [i, hop] of all.entries()) {
    data = inBeats(crossed(data, from, hop.clock, hop.syncCycles), hop.beatBytes);
    from = hop.clock;
    if (hop.early) {
      answered = lastAt(data);
      answeredBy = i;
      break;
    }
    if (hop === end) break;
    const first = hop.clock.indexFrom(hop.collects ? lastAt(data) : firstAt(data));
    data = sent(data, hop.clock, first, hop.forwardCycles);
    log.until(hop.name, 'forward', lastAt(data));
  }
  let at = answered ?? end.write(data);
  log.until(all[answeredBy]!.name, 'service', at);
  for (let i = answeredBy; i >= 0; i--) {
    const hop = all[i]!;
    at = hop.clock.after(at, hop.backwardCycles);
    log.until(hop.name, 'return', at);
    const before = i > 0 ? all[i - 1]! : master;
    at = before.clock.after(at, crossing(hop.clock, before.clock, before.syncCycles));
  }
  return log.close('master', 'delivery', at);
}

/** Between an unclocked master and an unclocked device that it is wired to no time passes. */
function isImmediate({ master, hops, end }: IdlePath): boolean {
  return hops.length === 0 && master.clock.name === 'none' && end.clock.name === 'none';
}

/** Collects stages that follow one another; a step that ends no later than the one before takes no time. */
export class StageLog {
  private readonly stages: IdleStage[] = [];
  private at: number;

  constructor(private readonly wantedPs: number) {
    this.at = wantedPs;
  }

  until(element: string, stage: IdleStage['stage'], toPs: number): void {
    if (toPs <= this.at) return;
    this.stages.push({ element, stage, fromPs: this.at, toPs });
    this.at = toPs;
  }

  close(element: string, stage: IdleStage['stage'], donePs: number): Unloaded {
    this.until(element, stage, donePs);
    return { totalPs: donePs - this.wantedPs, stages: this.stages };
  }
}
