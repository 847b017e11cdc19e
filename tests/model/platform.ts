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
import { Calendar } from '../../src/engine/calendar.js';
import { Bursts } from '../../src/model/bursts.js';
import { Finals } from '../../src/model/finals.js';
import type { Context } from '../../src/model/context.js';
import { Simulation, type SimulationOptions } from '../../src/model/simulation.js';
import { Probe } from '../../src/model/probe.js';
import { Window } from '../../src/model/window.js';

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
    asked: { reads: false, writes: false },
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
    tasks: [],
    budgets: [],
    metrics: [],
    run: {
      seed: '1',
      replications: 1,
      durationPs: 1e8,
      warmupPs: 0,
      drainPs: 1e8,
      exact: false,
      journeys: 'off',
      timeline: 'off',
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
  /** By hop: when it was granted onwards. */
  grantedAt: number[];
  /** By hop: when its first and its last beat were usable there; forward for a write, on the way back for a read. */
  beatsAt: [first: number, last: number][];
}

/** Keeps every completed burst of the masters, in order of completion. */
export class Log extends Probe {
  readonly done: Done[] = [];
  dropped = 0;
  simulation!: Simulation;

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.number[slot]! < 0) return;
    const hops = bursts.routes[slot]!.hops.length;
    const perHop = Array.from({ length: hops }, (_, hop) => hop);
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
      grantedAt: perHop.slice(0, -1).map((hop) => bursts.grantedAt[slot * bursts.hops + hop]!),
      beatsAt: perHop.map((hop) => {
        const base = bursts.beatBase(slot, hop);
        return [bursts.beats[base]!, bursts.beats[base + bursts.beatCount(slot, hop) - 1]!];
      }),
    });
  }

  override requestDropped(): void {
    this.dropped++;
  }

  override lost(): void {
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

/** A request of a trace: when (from the start), what, where in the buffer, how much. */
export type Line = readonly [timePs: number, operation: 'read' | 'write', address: number, bytes: number];

/** A source that replays these requests. */
export function trace(...lines: Line[]): MasterSpec['issue'] {
  const entries = lines.map(([timePs, operation, address, bytes]) => ({
    timePs,
    write: operation === 'write',
    address,
    bytes,
  }));
  return { process: 'trace', file: 'trace.csv', entries };
}

/** What a single element needs around it to be tested alone. */
export function bareContext(hops = 2, beats = 16): Context {
  return {
    calendar: new Calendar(),
    bursts: new Bursts(hops, beats),
    probe: new Probe(),
    window: new Window(0, 1e9),
    seed: '1',
    replication: 1,
    warnings: new Map(),
    stale: null,
    tasks: null,
    finals: new Finals(),
    places: { count: 0, lanes: [] },
    tally: { counted: 0, issuedBursts: 0, completedBursts: 0 },
  };
}

/** The largest number of intervals [from, to) that hold one instant. */
export function mostAtOnce(intervals: Iterable<readonly [from: number, to: number]>): number {
  const changes = [...intervals].flatMap(([from, to]) => [
    { at: from, by: 1 },
    { at: to, by: -1 },
  ]);
  // at one instant ends come first, as a place given back can be taken at once
  changes.sort((a, b) => a.at - b.at || a.by - b.by);
  let now = 0;
  return Math.max(0, ...changes.map(({ by }) => (now += by)));
}

/** Every burst in one fixed order, for comparisons in which the order of events of one instant must not show. */
export function sorted(done: readonly Done[]): Done[] {
  return done.toSorted((a, b) => a.master - b.master || Number(a.write) - Number(b.write) || a.number - b.number);
}
