import { CoherenceUnit } from '../../../src/model/coherence/coherence-unit.js';
import { Probe } from '../../../src/model/probe.js';
import { Simulation, type SimulationOptions } from '../../../src/model/simulation.js';
import type { SystemSpec } from '../../../src/scenario/scenario.js';
import { read } from '../../scenario/reading.js';

/**
 * A platform on which every cycle is a nanosecond: two cores and two ports at one unit and one memory, with a device beside.
 * A line that a core maintains takes 8 of its cycles and a lookup of 6; a barrier takes 20.
 */
export const RIG = `
platform:
  clocks: { clk: 1 GHz }
  cores: { attach: cu, clock: clk, width: 64 bit, l1: { size: 1 KiB, ways: 2 }, hit: 2 cycles, parallelism: 4 }
  ports:
    side: { clock: clk, width: 64 bit, to: ram, outstanding: 8 }
    snooping: { clock: clk, width: 64 bit, to: cu, outstanding: 8 }
  coherence:
    cu:
      { clock: clk, width: 64 bit, to: [ram, bells], l2: { size: 4 KiB, ways: 2 }, lookup: 6 cycles, data: 8 cycles,
        intervention: 14 cycles, queue_depth: 4, miss_entries: 8, writeback_slots: 4 }
  memories:
    ram: { kind: onchip, clock: clk, width: 64 bit, size: 64 KiB, access: 3 cycles, queue_depth: 4 }
  devices:
    bells: { clock: clk, width: 64 bit, size: 4 KiB, service: 100 ns }
buffers:
  job: { memory: ram, size: 8 KiB, cached: yes }
  plain: { memory: ram, size: 4 KiB, cached: no }
  joined: { memory: ram, size: 4 KiB, cached: combine }
  bell: { memory: bells, size: 4 KiB }
masters:
  driver: { core: yes, buffer: job, operations: { read_share: 50 % }, issue: silent }
  other: { core: yes, buffer: job, operations: { read_share: 50 % }, issue: silent }
  knocker: { core: yes, buffer: bell, operations: write, issue: silent }
  watcher: { core: yes, buffer: plain, operations: { read_share: 50 % }, issue: silent }
  joiner: { core: yes, buffer: joined, operations: { read_share: 50 % }, issue: silent }
  engine_in: { group: engine, attach: side, operations: read, buffer: job, issue: silent }
  engine_out: { group: engine, attach: side, operations: write, buffer: job, issue: silent }
  flagger: { attach: side, operations: write, buffer: plain, issue: silent }
run: { replications: 1, warmup: 0 ns, duration: 20 us, drain: 20 us, journeys: off }
`;

/** Once, at 100 ns. */
export const ONCE = '{ process: periodic, every: 1 s, offset: 100 ns }';

/** Instants in ns. */
export interface Ended {
  readonly task: string;
  readonly from: number;
  readonly to: number;
  readonly upkeep: number;
}

class TaskLog extends Probe {
  readonly ended: Ended[] = [];
  readonly dropped: number[] = [];
  readonly queued: number[] = [];
  /** What masters did: `driver write 0+8 100-102`. */
  readonly done: string[] = [];
  /** Write-backs of the unit, by the master that they are due to. */
  readonly writtenBack: string[] = [];
  simulation!: Simulation;

  constructor(private readonly system: SystemSpec) {
    super();
  }

  override taskEnded(task: number, triggeredPs: number, upkeepPs: number): void {
    const { now } = this.simulation.context.calendar;
    const { name } = this.system.tasks[task]!;
    this.ended.push({ task: name, from: triggeredPs / 1e3, to: now / 1e3, upkeep: upkeepPs / 1e3 });
  }

  override taskDropped(_task: number, triggeredPs: number): void {
    this.dropped.push(triggeredPs / 1e3);
  }

  override taskQueued(_task: number, triggeredPs: number): void {
    this.queued.push(triggeredPs / 1e3);
  }

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    const { name } = this.system.masters[bursts.master[slot]!]!;
    const what = bursts.op[slot] === 1 ? 'write' : 'read';
    const where = `${bursts.address[slot]}+${bursts.bytes[slot]}`;
    if (bursts.number[slot]! >= 0) {
      this.done.push(`${name} ${what} ${where} ${bursts.wantedAt[slot]! / 1e3}-${bursts.doneAt[slot]! / 1e3}`);
    } else if (what === 'write') this.writtenBack.push(`${name} ${where}`);
  }
}

/** Reads the rig with tasks (and whatever else is laid over it by the text) and runs it; see `TaskLog`. */
export function runTasks(
  tasks: string,
  options: { extra?: string; change?: (text: string) => string; more?: Partial<SimulationOptions> } = {},
) {
  const text = (options.change ?? ((same) => same))(`${RIG}${options.extra ?? ''}tasks:\n${tasks}\n`);
  const system = read(text).systems[0]!;
  return runSystem(system, options.more);
}

export function runSystem(system: SystemSpec, more: Partial<SimulationOptions> = {}) {
  const log = new TaskLog(system);
  const { durationPs, drainPs } = system.run;
  const settings = { seed: '1', replication: 1, warmupPs: 0, durationPs, drainPs, probe: log };
  const simulation = new Simulation(system, { ...settings, ...more });
  log.simulation = simulation;
  simulation.run();
  const unit = simulation.model.elements.find((element) => element instanceof CoherenceUnit)!;
  return { log, simulation, unit, warnings: [...simulation.context.warnings.keys()] };
}
