import type { Clock } from '../engine/clock.js';
import { crossed, firstAt, inBeats, lastAt, sent, type Piece, type Train } from './train.js';
import type { IdleEnd, IdleHop } from './unloaded.js';

/** A line, or a part of one, that an element sends for or away on its own account. */
export interface Leaving {
  readonly address: number;
  readonly bytes: number;
  /** When it can leave, in the sender's clock. */
  readonly leavesPs: number;
}

/** The idle way from an element that sends bursts of its own to the memory behind it. */
export interface LinePath {
  readonly clock: Clock;
  readonly hops: readonly IdleHop[];
  readonly end: IdleEnd;
}

/**
 * When each of several fetches, of one burst that is alone, is all back at the sender. They are in neighbouring places, in
 * order of address and of leaving, and meet nothing but one another.
 */
export function unloadedFetches(path: LinePath, lines: readonly Leaving[]): number[] {
  const { end, clock } = path;
  const all = [...path.hops, end];
  let ready: Train = lines.map(({ address, bytes, leavesPs }) => ({
    low: address,
    high: address + bytes,
    atPs: leavesPs,
  }));
  for (const [i, hop] of all.entries()) {
    ready = crossed(ready, all[i - 1]?.clock ?? clock, hop.clock, hop.syncCycles);
    // the address channel takes one burst a cycle
    if (hop !== end) ready = sent(ready, hop.clock, 0, hop.forwardCycles);
  }
  const data = end.readLines!(ready);
  let back = lines.map(({ address, bytes }) => within(data, address, address + bytes));
  for (const [i, hop] of [...all.entries()].toReversed()) {
    const lane = laned(
      back.map((line) => inBeats(line, hop.beatBytes)),
      hop.clock,
      hop.backwardCycles,
    );
    const before = i > 0 ? all[i - 1]! : { clock, syncCycles: 0 };
    back = lane.map((line) => crossed(line, hop.clock, before.clock, before.syncCycles));
  }
  return back.map((line) => clock.edgeFrom(lastAt(line)));
}

/** When all of several writes is known at the sender to be accepted; as for fetches. Their data is there when they leave. */
export function unloadedSends(path: LinePath, lines: readonly Leaving[]): number {
  const { end, clock } = path;
  const all = [...path.hops, end];
  let data: Train = lines.map(({ address, bytes, leavesPs }) => ({
    low: address,
    high: address + bytes,
    atPs: leavesPs,
  }));
  let from = clock;
  // all that is beyond an element which answers itself is not waited for
  const early = all.findIndex((hop) => hop.early);
  const answeredBy = early < 0 ? all.length - 1 : early;
  for (const [i, hop] of all.entries()) {
    data = inBeats(crossed(data, from, hop.clock, hop.syncCycles), hop.beatBytes);
    from = hop.clock;
    if (i === answeredBy) break;
    data = sent(data, hop.clock, hop.clock.indexFrom(firstAt(data)), hop.forwardCycles);
  }
  // what comes after a line does not change when that line is accepted
  const ends = lines.map(({ address, bytes }) => address + bytes);
  let answers: Train = lines.map(({ address }, line) => {
    const high = ends[line]!;
    const upTo = data.filter((piece) => piece.high <= high);
    return { low: address, high, atPs: early < 0 ? end.write(upTo, ends.slice(0, line + 1)) : lastAt(upTo) };
  });
  for (let i = answeredBy; i >= 0; i--) {
    const hop = all[i]!;
    const before = i > 0 ? all[i - 1]! : { clock, syncCycles: 0 };
    answers = sent(answers, hop.clock, 0, hop.backwardCycles);
    answers = crossed(answers, hop.clock, before.clock, before.syncCycles);
  }
  return clock.edgeFrom(lastAt(answers));
}

const within = (train: Train, low: number, high: number): Train =>
  train.filter((piece) => piece.low >= low && piece.high <= high);

/**
 * Several bursts on one lane back, a beat a cycle: the one that holds the grant goes on while it has a beat, and in a cycle
 * in which it has none another may.
 */
function laned(lines: readonly Train[], clock: Clock, cycles: number): Train[] {
  const out = lines.map((): Piece[] => []);
  const left = (line: number): Piece | undefined => lines[line]![out[line]!.length];
  let holder = -1;
  for (let edge = clock.indexFrom(Math.min(...lines.map(firstAt))); ; edge++) {
    const now = clock.at(edge);
    const open = lines.map((_, line) => line).filter((line) => left(line) !== undefined);
    if (open.length === 0) return out;
    const here = open
      .filter((line) => left(line)!.atPs <= now)
      .toSorted((a, b) => firstAt(lines[a]!) - firstAt(lines[b]!));
    const chosen = here.includes(holder) ? holder : here[0];
    if (chosen === undefined) continue;
    out[chosen]!.push({ ...left(chosen)!, atPs: clock.at(edge + cycles) });
    if (!open.includes(holder)) holder = chosen;
  }
}
