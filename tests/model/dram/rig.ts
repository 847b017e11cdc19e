import { Calendar } from '../../../src/engine/calendar.js';
import type { Carrier } from '../../../src/engine/carrier.js';
import type { Actor } from '../../../src/engine/calendar.js';
import { Clock } from '../../../src/engine/clock.js';
import { Phase } from '../../../src/engine/phase.js';
import type { Access } from '../../../src/model/dram/access.js';
import { Channel } from '../../../src/model/dram/channel.js';
import { Probe } from '../../../src/model/probe.js';
import { Window } from '../../../src/model/window.js';
import type { DdrSpec, DramTimingSpec } from '../../../src/scenario/scenario.js';

/** One issued command: [clock, kind, rank, bank within the rank, row, channel]. */
export type Logged = readonly [clock: number, kind: number, rank: number, bank: number, row: number, channel: number];

/** Writes the command log down. */
export class LogProbe extends Probe {
  readonly log: Logged[] = [];

  override command(
    _element: number,
    channel: number,
    rank: number,
    _group: number,
    bank: number,
    row: number,
    kind: number,
    clock: number,
  ): void {
    this.log.push([clock, kind, rank, bank, row, channel]);
  }
}

/** A memory of one channel and rank with the given timing: open pages, out of order, no refresh; `change` alters it. */
export function ddrSpec(timing: DramTimingSpec, change: Partial<DdrSpec> = {}): DdrSpec {
  const bits = (count: number): number => Math.round(Math.log2(count));
  const accessBytes = timing.burstLength * timing.busBytes;
  const ranks = change.ranks ?? 1;
  const rows = 2 ** 14;
  return {
    kind: 'ddr',
    name: 'ddr',
    clock: 'memory',
    widthBytes: 16,
    syncCycles: 2,
    bytes: rows * timing.rowBytes * timing.banks * ranks * (change.channels ?? 1),
    timing,
    channels: 1,
    ranks,
    interleaveBytes: 256,
    mapping: [
      { field: 'row', bits: bits(rows) },
      { field: 'rank', bits: bits(ranks) },
      { field: 'bank', bits: bits(timing.banks / timing.bankGroups) },
      { field: 'column', bits: bits(timing.rowBytes / accessBytes) },
      { field: 'bankgroup', bits: bits(timing.bankGroups) },
    ],
    bankHash: false,
    frontCycles: 10,
    returnCycles: 6,
    phyCommandClocks: 4,
    phyDataClocks: 4,
    queueDepth: 8,
    readEntries: 32,
    writeEntries: 32,
    highMark: 24,
    lowMark: 8,
    minDrain: 4,
    grainBytes: 64,
    scheduler: 'out_of_order',
    activateFirst: false,
    lookahead: 8,
    capPs: Infinity,
    page: { policy: 'open', idlePs: 0 },
    refresh: { mode: 'off', postpone: 0 },
    arbitration: {
      policy: 'round_robin',
      grain: 1,
      priority: [],
      weights: new Map(),
      ageingPs: 0,
      slots: [],
    },
    ...change,
  };
}

/** A column access to be entered. */
export interface Wanted {
  readonly write: boolean;
  /** Within the channel: rank × banks + bank. */
  readonly bank: number;
  readonly row: number;
  readonly column: number;
  readonly low?: number;
  readonly high?: number;
  readonly qos?: number;
}

/** An access that was answered: [its number in order of entry, clock of the column command, or of the cover]. */
export type Answered = readonly [number: number, clock: number];

/** A channel on its own, fed by hand. */
export class Rig implements Actor {
  readonly calendar: Calendar;
  readonly clock: Clock;
  readonly probe = new LogProbe();
  readonly channel: Channel;
  readonly served: Answered[] = [];
  readonly coveredBy: Answered[] = [];
  private readonly accessBytes: number;
  private readonly timed: { atPs: number; wanted: Wanted[] }[] = [];
  private readonly carrier: Carrier;
  private entered = 0;
  /** By direction: entered and not yet answered. */
  private readonly inside: [number, number] = [0, 0];
  /** Asked for more whenever an entry of a direction is free; null: nothing more for now. */
  source: ((write: boolean) => Wanted | null) | null = null;

  constructor(
    readonly spec: DdrSpec,
    window = new Window(0, Infinity),
    phasesPs: readonly number[] = Array.from({ length: spec.ranks }, () => 0),
    shuffle: (() => number) | null = null,
  ) {
    const { timing } = spec;
    this.calendar = new Calendar(shuffle);
    this.clock = new Clock('dram', timing.tckNumerator, timing.tckDenominator);
    this.accessBytes = timing.burstLength * timing.busBytes;
    this.channel = new Channel({
      calendar: this.calendar,
      probe: this.probe,
      window,
      spec,
      clock: this.clock,
      element: 0,
      number: 0,
      phasesPs,
      owner: {
        served: (_, access, clock) => this.onServed(access, clock),
        covered: (_, access, clock) => this.onCovered(access, clock),
      },
    });
    this.carrier = this.calendar.carrier(this, 0, Phase.arrive);
  }

  /** Enters accesses at a clock edge (or `offsetPs` after it), in the order given; may be called in any order of time. */
  at(clock: number, wanted: Wanted[], offsetPs = 0): void {
    this.timed.push({ atPs: this.clock.at(clock) + offsetPs, wanted });
  }

  /** Runs to a clock, having put the timed accesses in; keeps the queues full from `source`. */
  run(untilClock: number): void {
    this.timed.sort((a, b) => a.atPs - b.atPs);
    if (this.timed.length > 0) this.calendar.armBy(this.carrier, this.timed[0]!.atPs);
    if (this.source !== null) {
      this.fill(false);
      this.fill(true);
    }
    this.calendar.run(this.clock.at(untilClock));
    this.channel.settle(this.clock.at(untilClock) + 1);
  }

  wake(): void {
    while (this.timed.length > 0 && this.timed[0]!.atPs <= this.calendar.now) {
      for (const wanted of this.timed.shift()!.wanted) this.enter(wanted);
    }
    if (this.refill !== 0) {
      const refill = this.refill;
      this.refill = 0;
      if ((refill & 1) !== 0) this.fill(false);
      if ((refill & 2) !== 0) this.fill(true);
    }
    if (this.timed.length > 0) this.calendar.armBy(this.carrier, this.timed[0]!.atPs);
  }

  private refill = 0;

  /** Enters an access now; `age` is its number where the order of entry is not that of the calls. */
  enter(wanted: Wanted, age = this.entered): void {
    const access = this.channel.queue.reserve();
    access.direction = wanted.write ? 1 : 0;
    access.bank = this.channel.state.banks[wanted.bank]!;
    access.row = wanted.row;
    access.column = wanted.column;
    access.low = wanted.low ?? 0;
    access.high = wanted.high ?? this.accessBytes;
    access.qos = wanted.qos ?? 0;
    access.age = age;
    access.burst = age;
    access.enteredAt = this.calendar.now;
    this.entered++;
    this.inside[wanted.write ? 1 : 0]!++;
    this.channel.enter(access);
  }

  /** Entries of a direction that are free. */
  room(write: boolean): number {
    return (write ? this.spec.writeEntries : this.spec.readEntries) - this.inside[write ? 1 : 0]!;
  }

  private fill(write: boolean): void {
    while (this.room(write) > 0) {
      const wanted = this.source!(write);
      if (wanted === null) return;
      this.enter(wanted);
    }
  }

  private onCovered(access: Access, clock: number): void {
    this.coveredBy.push([access.burst, clock]);
    this.again(access.direction);
  }

  private onServed(access: Access, clock: number): void {
    this.served.push([access.burst, clock]);
    // what is told late has answers that nobody could act on in time
    const duePs = this.clock.at(clock);
    if (duePs !== this.calendar.now)
      throw new Error(`told at ${this.calendar.now} ps of a column command at ${duePs} ps`);
    this.again(access.direction);
  }

  private again(write: number): void {
    this.inside[write]!--;
    if (this.source === null) return;
    this.refill |= write === 1 ? 2 : 1;
    this.calendar.armBy(this.carrier, this.calendar.now + 1);
  }
}
