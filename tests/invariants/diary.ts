import { Clock } from '../../src/engine/clock.js';
import { Command } from '../../src/model/dram/command.js';
import { DdrController } from '../../src/model/dram/controller.js';
import { Probe } from '../../src/model/probe.js';
import { Simulation } from '../../src/model/simulation.js';
import type { DdrSpec, SystemSpec } from '../../src/scenario/scenario.js';

/** A burst of a master that is alone. */
export interface LoneBurst {
  readonly write: boolean;
  readonly address: number;
  readonly bytes: number;
  readonly wantedPs: number;
  readonly latencyPs: number;
  readonly serviceDraw: number;
}

interface Commanded {
  readonly atPs: number;
  readonly channel: number;
  readonly bank: number;
  readonly kind: number;
  readonly row: number;
}

/** Writes down every burst of the one master of a system that wants anything, and what each DRAM did when. */
export class Diary extends Probe {
  readonly bursts: LoneBurst[] = [];
  private readonly commands: Commanded[] = [];
  private simulation!: Simulation;

  /** @param dram the DRAM controllers, by number of the element */
  constructor(private readonly dram: ReadonlyMap<number, { readonly spec: DdrSpec; readonly clock: Clock }>) {
    super();
  }

  watch(simulation: Simulation): void {
    this.simulation = simulation;
  }

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.number[slot]! < 0) return;
    const wantedPs = bursts.wantedAt[slot]!;
    this.bursts.push({
      write: bursts.op[slot] === 1,
      address: bursts.address[slot]!,
      bytes: bursts.bytes[slot]!,
      wantedPs,
      latencyPs: bursts.doneAt[slot]! - wantedPs,
      serviceDraw: bursts.serviceDraw[slot]!,
    });
  }

  override command(
    element: number,
    channel: number,
    rank: number,
    _group: number,
    bank: number,
    row: number,
    kind: number,
    clock: number,
  ): void {
    const { spec, clock: tck } = this.dram.get(element)!;
    const place = rank * spec.timing.banks + bank;
    this.commands.push({ atPs: tck.at(clock), channel, bank: place, kind, row });
  }

  /** The row that a bank is left with by all that was commanded before `beforePs`; −1: none. */
  openRow(channel: number, bank: number, beforePs: number): number {
    let row = -1;
    for (const command of this.commands) {
      if (command.atPs >= beforePs || command.channel !== channel || command.bank !== bank) continue;
      if (command.kind === Command.activate) row = command.row;
      else if (command.kind !== Command.read && command.kind !== Command.write) row = -1;
    }
    return row;
  }
}

/** Runs a system of which one master wants anything, for so long, and answers what it did. */
export function diaryOf(system: SystemSpec, durationPs: number): Diary {
  const dram = new Map<number, { spec: DdrSpec; clock: Clock }>();
  const diary = new Diary(dram);
  const { seed } = system.run;
  const options = { seed, replication: 1, warmupPs: 0, durationPs, drainPs: durationPs, probe: diary };
  const simulation = new Simulation(system, options);
  diary.watch(simulation);
  const controllers = simulation.model.elements.filter((element) => element instanceof DdrController);
  for (const { base } of controllers) {
    const spec = system.elements.find((element) => element.name === base.name) as DdrSpec;
    const { tckNumerator, tckDenominator } = spec.timing;
    dram.set(base.index, { spec, clock: new Clock('dram', tckNumerator, tckDenominator) });
  }
  simulation.run();
  // closings of rows that time out on an idle channel are made up for on demand
  for (const { dram: channels } of controllers) for (const channel of channels) channel.settle(durationPs);
  return diary;
}
