import { Clock } from '../../src/engine/clock.js';
import { Command } from '../../src/model/dram/command.js';
import { DdrController } from '../../src/model/dram/controller.js';
import { Part } from '../../src/measure/journey/stage.js';
import { Tracer } from '../../src/measure/journey/tracer.js';
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
  /** How long it waited for others, by the account of its journey, and what edges of clocks on its way can make of that. */
  readonly waitedPs: number;
  readonly edgesPs: number;
}

interface Commanded {
  readonly atPs: number;
  readonly channel: number;
  readonly bank: number;
  readonly kind: number;
  readonly row: number;
}

const FOR_OTHERS = new Set<number>([Part.port, Part.arbitration, Part.memoryQueue, Part.returnArbitration]);

const periodOf = ({ numerator, denominator }: Clock): number => numerator / denominator;

/** Writes down every burst of the one master of a system that wants anything, and what each DRAM did when. */
export class Diary extends Tracer {
  readonly bursts: LoneBurst[] = [];
  private readonly commands: Commanded[] = [];
  private simulation!: Simulation;
  /** An edge of each DRAM. */
  beyondPs = 0;

  /** @param dram the DRAM controllers, by number of the element */
  constructor(private readonly dram: ReadonlyMap<number, { readonly spec: DdrSpec; readonly clock: Clock }>) {
    super();
  }

  watch(simulation: Simulation, system: SystemSpec): void {
    this.simulation = simulation;
    this.follow(simulation, system, true, true);
  }

  override completed(slot: number): void {
    super.completed(slot);
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
      waitedPs: this.waited(slot),
      edgesPs: bursts.routes[slot]!.hops.reduce((sum, { clock }) => sum + periodOf(clock), 0) + this.beyondPs,
    });
  }

  /** Time in the parts that are waiting for others; not for a row to be closed, which is nobody's turn. */
  private waited(slot: number): number {
    const chain = this.chains!.of(slot);
    let waited = 0;
    let from = chain.from;
    for (let link = 0; link < chain.count; link++) {
      const until = chain.untilOf(link);
      if (FOR_OTHERS.has(chain.partOf(link))) waited += until - from;
      from = until;
    }
    return waited;
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

  /** Rows of banks that were used between two instants, each as often as it was opened. */
  rows(fromPs: number, toPs: number): number {
    const inside = this.commands.filter(({ atPs }) => atPs >= fromPs && atPs <= toPs);
    const used = new Set(inside.map(({ channel, bank, row }) => `${channel} ${bank} ${row}`)).size;
    return Math.max(used, inside.filter(({ kind }) => kind === Command.activate).length);
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
  diary.watch(simulation, system);
  const controllers = simulation.model.elements.filter((element) => element instanceof DdrController);
  for (const { base } of controllers) {
    const spec = system.elements.find((element) => element.name === base.name) as DdrSpec;
    const { tckNumerator, tckDenominator } = spec.timing;
    diary.beyondPs += spec.timing.tckNumerator / spec.timing.tckDenominator;
    dram.set(base.index, { spec, clock: new Clock('dram', tckNumerator, tckDenominator) });
  }
  simulation.run();
  // closings of rows that time out on an idle channel are made up for on demand
  for (const { dram: channels } of controllers) for (const channel of channels) channel.settle(durationPs);
  return diary;
}
