import { Clock } from '../engine/clock.js';
import { DdrController } from '../model/dram/controller.js';
import type { Simulation } from '../model/simulation.js';
import type { SystemSpec } from '../scenario/scenario.js';
import type { CommandLog, LoggedMemory } from './command-log.js';
import { Recorder, type RecorderSettings } from './recorder.js';

/** A recorder that also keeps a log of DRAM commands. A class of its own: channels do not tell those who do not listen. */
export class CommandRecorder extends Recorder {
  constructor(
    private readonly system: SystemSpec,
    settings: RecorderSettings,
    private readonly log: CommandLog,
  ) {
    super(system, settings);
  }

  override watch(simulation: Simulation): void {
    super.watch(simulation);
    this.log.begin(this.system.placement, simulation.context.replication, memoriesOf(simulation));
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
    this.log.add(element, channel, rank, group, bank, row, kind, clock);
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
