import { Clock } from '../../engine/clock.js';
import { DdrController } from '../../model/dram/controller.js';
import type { Simulation } from '../../model/simulation.js';
import type { SystemSpec } from '../../scenario/scenario.js';
import type { BurstLog } from './burst-log.js';
import type { CommandLog, LoggedMemory } from './command-log.js';
import { Recorder, type RecorderSettings } from '../recorder.js';
import type { WaveLog } from './wave-log.js';

/** What may be written down of a replication event by event; nothing where it is not there. */
export interface Logs {
  /** Takes the DRAM commands. */
  readonly commandLog?: CommandLog;
  /** Takes single bursts. */
  readonly burstLog?: BurstLog;
  /** Takes what queues, outputs, servers and banks do over a span. */
  readonly waveLog?: WaveLog;
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

  /** Single bursts are looked at for whom each of them waits for. */
  protected override get followsAll(): boolean {
    return this.logs.burstLog !== undefined;
  }

  override watch(simulation: Simulation): void {
    super.watch(simulation);
    const { commandLog, burstLog, waveLog } = this.logs;
    commandLog?.begin(this.system.placement, simulation.context.replication, memoriesOf(simulation));
    burstLog?.begin(simulation, this.system, this);
    waveLog?.begin(simulation, this.system);
  }

  override completed(slot: number): void {
    super.completed(slot);
    this.logs.burstLog?.add(slot);
    this.logs.waveLog?.open.completed(slot);
  }

  override accepted(slot: number): void {
    super.accepted(slot);
    this.logs.waveLog?.open.accepted(slot);
  }

  override granted(slot: number, element: number, hop: number, place: number): void {
    super.granted(slot, element, hop, place);
    this.logs.waveLog?.open.granted(slot, hop, place);
  }

  override taken(slot: number, element: number, unit: number, untilPs: number): void {
    super.taken(slot, element, unit, untilPs);
    this.logs.waveLog?.open.taken(slot, element, unit, untilPs);
  }

  override lookedUp(slot: number, element: number, index: number, master: number): void {
    super.lookedUp(slot, element, index, master);
    this.logs.waveLog?.open.lookedUp(element, master);
  }

  override sent(slot: number, hop: number, edge: number, cycles: number, last: boolean): void {
    super.sent(slot, hop, edge, cycles, last);
    this.logs.waveLog?.open.sent(slot, hop, edge, cycles);
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
    this.logs.waveLog?.open.command(element, channel, rank, bank, row, kind, clock);
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
