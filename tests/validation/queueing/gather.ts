import { type Bursts, READ } from '../../../src/model/bursts.js';
import { Probe } from '../../../src/model/probe.js';
import type { Simulation } from '../../../src/model/simulation.js';
import type { Published } from './case-file.js';
import { Levels } from './levels.js';
import { Tally } from './tally.js';

/** An instant in the life of a burst, in ps, read from its record once it is done. */
type Instant = (bursts: Bursts, slot: number) => number;

/** When a burst came to a station, began to be served and left it. */
export interface Way {
  readonly arrivedAt: Instant;
  readonly startedAt: Instant;
  readonly leftAt: Instant;
}

/** A device with nothing on the way to it or back. */
export const atDevice: Way = {
  arrivedAt: (bursts, slot) => bursts.wantedAt[slot]!,
  startedAt: (bursts, slot) => bursts.enteredAt[slot]!,
  leftAt: (bursts, slot) => bursts.doneAt[slot]!,
};

/** When the element at the end of its route was done with a burst. */
export function endedAt(bursts: Bursts, slot: number): number {
  const hop = bursts.routes[slot]!.hops.length - 1;
  return bursts.op[slot] === READ
    ? bursts.beats[bursts.beatBase(slot, hop) + bursts.beatCount(slot, hop) - 1]!
    : bursts.responseAt[slot * bursts.hops + hop]!;
}

/** Whose requests, and which part of their way, a published subject is about. */
export interface Subject {
  readonly masters: readonly number[];
  readonly way: Way;
}

/** What a gatherer has to look at. */
export interface Watched {
  readonly subjects: ReadonlyMap<string, Subject>;
  readonly values: readonly Published[];
  /** By how much times may be late because a clock divides time. */
  readonly tickPs: number;
}

/** A tally, and which times go into it. */
interface Tallied {
  readonly tally: Tally;
  readonly way: Way;
}

/** Gathers what one replication says of the requests wanted in its window. */
export class Gather extends Probe {
  readonly tallies: ReadonlyMap<string, Tally>;
  dropped = 0;
  levels!: Levels;
  protected simulation!: Simulation;
  /** By master: the subjects that it belongs to. */
  private readonly tallied: Tallied[][] = [];
  private readonly lastWantedAt: number[] = [];

  constructor({ subjects, values, tickPs }: Watched) {
    super();
    this.tallies = new Map([...subjects.keys()].map((subject) => [subject, new Tally(subject, values, tickPs)]));
    for (const [subject, { masters, way }] of subjects) {
      for (const master of masters) (this.tallied[master] ??= []).push({ tally: this.tallies.get(subject)!, way });
    }
  }

  /** Joins it to the simulation; call before `run`. */
  watch(simulation: Simulation): void {
    this.simulation = simulation;
    this.levels = new Levels(simulation.context.window);
  }

  override accepted(_slot: number): void {
    this.levels.change(1, this.simulation.context.calendar.now);
  }

  override requestDropped(_master: number, _write: boolean, _bytes: number, wantedPs: number): void {
    if (this.simulation.context.window.holds(wantedPs)) this.dropped++;
  }

  override lost(slot: number): void {
    if (this.simulation.context.bursts.counted[slot] === 1) this.dropped++;
  }

  override completed(slot: number): void {
    const { bursts, calendar } = this.simulation.context;
    this.levels.change(-1, calendar.now);
    const master = bursts.master[slot]!;
    const wantedAt = bursts.wantedAt[slot]!;
    const isFirst = wantedAt !== this.lastWantedAt[master];
    this.lastWantedAt[master] = wantedAt;
    if (bursts.counted[slot] !== 1) return;
    for (const { tally, way } of this.tallied[master]!) {
      const arrivedAt = way.arrivedAt(bursts, slot);
      tally.add(way.startedAt(bursts, slot) - arrivedAt, way.leftAt(bursts, slot) - arrivedAt, isFirst);
    }
  }
}
