import { Clock } from '../engine/clock.js';
import { DdrController } from '../model/dram/controller.js';
import type { Simulation } from '../model/simulation.js';
import type { SystemSpec } from '../scenario/scenario.js';
import type { BurstLog } from './burst-log.js';
import type { CommandLog, LoggedMemory } from './command-log.js';
import { Recorder, type RecorderSettings } from './recorder.js';

/** What may be written down of a replication event by event; nothing where it is not there. */
export interface Logs {
  /** Takes the DRAM commands. */
  readonly commandLog?: CommandLog;
  /** Takes single bursts. */
  readonly burstLog?: BurstLog;
}

/** A recorder that also keeps logs. A class of its own: channels do not tell of commands to those who do not listen. */
export class LoggingRecorder extends Recorder {
  constructor(
    private readonly system: SystemSpec,
    settings: RecorderSettings,
    private readonly logs: Logs,
  ) {
    super(system, settings);
  }

  override watch(simulation: Simulation): void {
    super.watch(simulation);
    const { commandLog, burstLog } = this.logs;
    commandLog?.begin(this.system.placement, simulation.context.replication, memoriesOf(simulation));
    burstLog?.begin(simulation, this.system, this);
  }

  override completed(slot: number): void {
    super.completed(slot);
    this.logs.burstLog?.add(slot);
  }

  override command(
    element: number,
    channel: number,
    rank: number,
    group: number,
    bank: number,
    row: number,
    kind: number,
    clock: number,
  ): void {
    this.logs.commandLog?.add(element, channel, rank, group, bank, row, kind, clock);
  }
}

function memoriesOf(simulation: Simulation): Map<number, LoggedMemory> {
  const memories = simulation.model.elements.filter((element) => element instanceof DdrController);
  return new Map(
    memories.map(({ base, timing, dram }) => {
      const clock = new Clock(`${base.name} dram`, timing.tckNumerator, timing.tckDenominator);
      return [base.index, { name: base.name, clock, channels: dram.length }];
    }),
  );
}
