import { Clock } from '../../engine/clock.js';
import { READ } from '../../model/bursts.js';
import { Core } from '../../model/core.js';
import { Crossbar } from '../../model/crossbar.js';
import { Command } from '../../model/dram/command.js';
import { DdrController } from '../../model/dram/controller.js';
import type { Simulation } from '../../model/simulation.js';
import type { SystemSpec } from '../../scenario/scenario.js';
import type { Warning } from '../results.js';
import { Wave } from './wave.js';

/** Span that is shown where none is named, from the start of the measuring window. */
const USUAL_SPAN_PS = 10_000_000;

/** Signals of one system, as they are read. */
export interface SystemWave {
  readonly placement: string;
  /** In the order of their numbers, from 1, by which signals name them. */
  readonly masters: readonly string[];
  readonly wave: Wave;
}

/** A place that one burst has at a time: is it taken, and by whose burst? */
class Place {
  private readonly busy: number;
  private readonly master: number;

  constructor(
    private readonly wave: Wave,
    scope: readonly string[],
  ) {
    this.busy = wave.state(scope, 'busy', 1);
    this.master = wave.state(scope, 'master', 32);
  }

  hold(startPs: number, endPs: number, master: number): void {
    this.wave.hold(this.busy, startPs, endPs, 1);
    this.wave.hold(this.master, startPs, endPs, master + 1);
  }
}

/** What one replication tells. */
class Recording implements SystemWave {
  readonly masters: readonly string[];
  readonly wave: Wave;
  /** By 2 × master + direction: bursts in flight. */
  private readonly flights: readonly number[];
  /** By number of the place. */
  private readonly outputs = new Map<number, Place>();
  /** By element, then server or bank. */
  private readonly units = new Map<number, Place>();
  private readonly lanes = new Map<number, Place>();
  private readonly tags = new Map<number, Place>();
  private readonly drams = new Map<number, { clock: Clock; banks: Map<number, { command: number; row: number }> }>();

  constructor(
    private readonly simulation: Simulation,
    readonly placement: string,
    system: SystemSpec,
    span: { readonly fromPs: number; readonly toPs: number } | null,
  ) {
    const { window } = simulation.context;
    const wave = new Wave(
      span?.fromPs ?? window.fromPs,
      span?.toPs ?? Math.min(window.toPs, window.fromPs + USUAL_SPAN_PS),
    );
    this.wave = wave;
    this.masters = system.masters.map(({ name }) => name);
    this.flights = this.masters.flatMap((name) =>
      ['reads_in_flight', 'writes_in_flight'].map((what) => wave.level(['masters', name], what)),
    );
    for (const element of simulation.model.elements) {
      const { name } = element.base;
      const queue = wave.level([name], 'queue');
      element.queued.tap((nowPs, by) => wave.add(queue, nowPs, by));
      for (const [input, from] of element.inputs.entries()) {
        this.lanes.set(element.lane(input, false).place, new Place(wave, [name, `data_to_${from}`]));
        this.lanes.set(element.lane(input, true).place, new Place(wave, [name, `responses_to_${from}`]));
      }
      if (element instanceof Crossbar) this.addOutputs(element);
      if (element instanceof DdrController) this.addDram(element);
    }
  }

  /** The port, or a core's unit, has taken a burst. */
  accepted(slot: number): void {
    this.flies(slot, this.simulation.context.bursts.acceptedAt[slot]!, 1);
  }

  completed(slot: number): void {
    const { bursts } = this.simulation.context;
    // what a core's own cache answered was never on its way
    if (bursts.acceptedAt[slot]! >= 0) this.flies(slot, bursts.doneAt[slot]!, -1);
  }

  granted(slot: number, hop: number, place: number): void {
    const { bursts, calendar } = this.simulation.context;
    const { reads, writes } = bursts.routes[slot]!.hops[hop]!;
    const queue = bursts.op[slot] === READ ? reads : writes;
    this.outputs.get(place)?.hold(calendar.now, queue.eligibleAt, bursts.master[slot]!);
  }

  taken(slot: number, element: number, unit: number, untilPs: number): void {
    const { bursts, calendar } = this.simulation.context;
    const key = element * 65_536 + unit;
    let place = this.units.get(key);
    if (place === undefined) {
      const { name, kind } = this.simulation.model.elements[element]!.base;
      const scope = [name, `${kind === 'onchip' ? 'bank' : 'server'}_${unit}`];
      this.units.set(key, (place = new Place(this.wave, scope)));
    }
    place.hold(calendar.now, untilPs, bursts.master[slot]!);
  }

  lookedUp(element: number, master: number): void {
    const { base } = this.simulation.model.elements[element]!;
    let place = this.tags.get(element);
    if (place === undefined) this.tags.set(element, (place = new Place(this.wave, [base.name, 'tags'])));
    const edge = base.clock.indexFrom(this.simulation.context.calendar.now);
    place.hold(base.clock.at(edge), base.clock.at(edge + 1), master);
  }

  sent(slot: number, hop: number, edge: number, cycles: number): void {
    const { bursts } = this.simulation.context;
    const { clock, readLane, writeLane } = bursts.routes[slot]!.hops[hop]!;
    const master = bursts.master[slot]!;
    const own = this.simulation.model.masters[master]!;
    // what a core's cache misses comes as a read, stores too
    const fetched = bursts.number[slot]! >= 0 && own instanceof Core && own.counts !== null;
    const lane = bursts.op[slot] === READ || fetched ? readLane : writeLane;
    this.lanes.get(lane.place)?.hold(clock.at(edge), clock.at(edge + cycles), master);
  }

  command(element: number, channel: number, rank: number, bank: number, row: number, kind: number, at: number): void {
    const { clock, banks } = this.drams.get(element)!;
    const whole = kind === Command.prechargeAll || kind === Command.refresh;
    const signals = banks.get(bankKey(channel, rank, whole ? -1 : bank))!;
    const startPs = clock.at(at);
    this.wave.hold(signals.command, startPs, clock.at(at + 1), kind);
    if (kind === Command.activate) this.wave.put(signals.row, startPs, row);
  }

  private flies(slot: number, timePs: number, by: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.number[slot]! < 0) return;
    const direction = bursts.op[slot] === READ ? 0 : 1;
    this.wave.add(this.flights[2 * bursts.master[slot]! + direction]!, timePs, by);
  }

  private addOutputs(element: Crossbar): void {
    for (const [output, to] of element.outputs.entries()) {
      for (const write of [false, true]) {
        const scope = [element.base.name, `${write ? 'writes' : 'reads'}_to_${to}`];
        this.outputs.set(element.out(output, write).place, new Place(this.wave, scope));
      }
    }
  }

  private addDram({ base, timing, dram }: DdrController): void {
    const clock = new Clock(`${base.name} dram`, timing.tckNumerator, timing.tckDenominator);
    const banks = new Map<number, { command: number; row: number }>();
    for (const { number: channel, state } of dram) {
      for (let rank = 0; rank * state.banksPerRank < state.banks.length; rank++) {
        for (let bank = -1; bank < state.banksPerRank; bank++) {
          const inner = bank < 0 ? [] : [`bank_${bank}`];
          const scope = [base.name, `channel_${channel}`, `rank_${rank}`, ...inner];
          const command = this.wave.state(scope, 'command', 4);
          const row = bank < 0 ? -1 : this.wave.state(scope, 'row', 32);
          banks.set(bankKey(channel, rank, bank), { command, row });
        }
      }
    }
    this.drams.set(base.index, { clock, banks });
  }
}

/** A bank of −1 is the rank as a whole. */
const bankKey = (channel: number, rank: number, bank: number): number => (channel * 256 + rank) * 1024 + bank + 1;

/**
 * Signals over a span of one replication of one system or several: how full queues are, who has which output, way back, server
 * and bank, and the DRAM commands. For the eye: one bad microsecond, as a waveform viewer shows it.
 */
export class WaveLog {
  private readonly all: Recording[] = [];

  /** @param span from the start of the run; null: the first 10 us of the measuring window */
  constructor(private readonly span: { readonly fromPs: number; readonly toPs: number } | null = null) {}

  /** Begins a replication of a simulation that has not begun. */
  begin(simulation: Simulation, system: SystemSpec): void {
    this.all.push(new Recording(simulation, system.placement, system, this.span));
  }

  /** The recording begun last, which is to be told. */
  get open(): Recording {
    return this.all.at(-1)!;
  }

  /** By system. */
  waves(): readonly SystemWave[] {
    return this.all;
  }

  warnings(): Warning[] {
    return [];
  }
}
