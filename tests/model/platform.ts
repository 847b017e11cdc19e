import type {
  ArbitrationSpec,
  BufferSpec,
  ClockSpec,
  DeviceSpec,
  ElementSpec,
  MasterSpec,
  OnChipSpec,
  PortSpec,
  SwitchSpec,
  SystemSpec,
} from '../../src/scenario/scenario.js';
import { Simulation, type SimulationOptions } from '../../src/model/simulation.js';
import { Probe } from '../../src/model/probe.js';

/** Pieces of systems for tests of the model, each complete, with what a test does not say left plain. */

export const roundRobin: ArbitrationSpec = {
  policy: 'round_robin',
  grain: 1,
  priority: [],
  weights: new Map(),
  ageingPs: 0,
  slots: [],
};

export const clock = (name: string, periodPs: number): ClockSpec => ({ name, numerator: periodPs, denominator: 1 });

export function port(name: string, to: string[], more: Partial<PortSpec> = {}): PortSpec {
  return {
    kind: 'port',
    name,
    to,
    clock: 'fabric',
    widthBytes: 16,
    forwardCycles: 1,
    backwardCycles: 1,
    syncCycles: 2,
    queueDepth: 4,
    maxReads: 8,
    maxWrites: 8,
    returnSpaceBytes: Infinity,
    qos: null,
    regulator: null,
    inFlight: Infinity,
    pack: true,
    writeStart: 'whole_burst',
    writeResponse: 'final',
    arbitration: roundRobin,
    ...more,
  };
}

export function crossbar(name: string, to: string[], more: Partial<SwitchSpec> = {}): SwitchSpec {
  return {
    kind: 'switch',
    name,
    to,
    clock: 'bus',
    widthBytes: 16,
    forwardCycles: 2,
    backwardCycles: 1,
    syncCycles: 2,
    queueDepth: 4,
    queues: 'per_input',
    pack: true,
    writeResponse: 'final',
    arbitration: roundRobin,
    ...more,
  };
}

export function onChip(name: string, more: Partial<OnChipSpec> = {}): OnChipSpec {
  return {
    kind: 'onchip',
    name,
    clock: 'bus',
    widthBytes: 16,
    syncCycles: 2,
    bytes: 1 << 20,
    banks: 1,
    interleaveBytes: 64,
    accessCycles: 2,
    queueDepth: 4,
    arbitration: roundRobin,
    ...more,
  };
}

export function device(name: string, more: Partial<DeviceSpec> = {}): DeviceSpec {
  return {
    kind: 'device',
    name,
    clock: null,
    widthBytes: 16,
    syncCycles: 2,
    bytes: 1 << 20,
    servers: 1,
    service: { kind: 'fixed', value: 10_000 },
    queueDepth: Infinity,
    full: 'hold',
    discipline: { ...roundRobin, policy: 'oldest' },
    ...more,
  };
}

export function master(name: string, attach: string, buffer: string, more: Partial<MasterSpec> = {}): MasterSpec {
  return {
    name,
    group: null,
    attach,
    clock: 'fabric',
    widthBytes: 16,
    syncCycles: 2,
    burstBeats: 4,
    maxReads: 4,
    maxWrites: 4,
    ids: 1,
    sameIdOrder: 'port',
    qos: 0,
    readShare: 1,
    buffer,
    pattern: { pattern: 'sequential' },
    size: { kind: 'fixed', value: 64 },
    issue: { process: 'greedy' },
    startPs: 0,
    stopPs: Infinity,
    hitRatio: 0,
    core: null,
    whenFull: 'wait',
    ...more,
  };
}

export function buffer(name: string, memory: string, baseBytes = 0, bytes = 65_536): BufferSpec {
  return { name, memory, baseBytes, bytes, cached: 'no' };
}

export function system(
  elements: ElementSpec[],
  buffers: BufferSpec[],
  masters: MasterSpec[],
  clocks: ClockSpec[] = [clock('fabric', 5000), clock('bus', 2500)],
): SystemSpec {
  return {
    placement: 'base',
    clocks: new Map(clocks.map((spec) => [spec.name, spec])),
    elements,
    buffers,
    masters,
    run: {
      seed: '1',
      replications: 1,
      durationPs: 1e8,
      warmupPs: 0,
      drainPs: 1e8,
      exact: false,
    },
  };
}

/** One completed burst. */
export interface Done {
  master: number;
  write: boolean;
  number: number;
  wantedAt: number;
  offeredAt: number;
  acceptedAt: number;
  enteredAt: number;
  doneAt: number;
  address: number;
  bytes: number;
}

/** Keeps every completed burst of the masters, in order of completion. */
export class Log extends Probe {
  readonly done: Done[] = [];
  dropped = 0;
  simulation!: Simulation;

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.parent[slot]! >= 0 || bursts.number[slot]! < 0) return;
    this.done.push({
      master: bursts.master[slot]!,
      write: bursts.op[slot] === 1,
      number: bursts.number[slot]!,
      wantedAt: bursts.wantedAt[slot]!,
      offeredAt: bursts.offeredAt[slot]!,
      acceptedAt: bursts.acceptedAt[slot]!,
      enteredAt: bursts.enteredAt[slot]!,
      doneAt: bursts.doneAt[slot]!,
      address: bursts.address[slot]!,
      bytes: bursts.bytes[slot]!,
    });
  }

  override requestDropped(): void {
    this.dropped++;
  }
}

/** Runs a system and answers what was done. */
export function run(spec: SystemSpec, options: Partial<SimulationOptions> = {}): { log: Log; simulation: Simulation } {
  const log = new Log();
  const simulation = new Simulation(spec, {
    seed: spec.run.seed,
    replication: 1,
    warmupPs: 0,
    durationPs: spec.run.durationPs,
    drainPs: spec.run.drainPs,
    probe: log,
    ...options,
  });
  log.simulation = simulation;
  simulation.run();
  return { log, simulation };
}
