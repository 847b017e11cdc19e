import { Probe } from '../../../src/model/probe.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { MasterSpec, OnChipSpec, PortSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { buffer, clock, master, onChip, port, system } from '../../model/platform.js';

/** One clock of every element here, in ps. */
export const CLOCK = 1000;
export const CLOCKS = [clock('fabric', CLOCK)];

/** What one burst did on the wires between its master and its port; times are instants in ps. */
export interface WireBurst {
  readonly master: number;
  readonly number: number;
  readonly write: boolean;
  readonly address: number;
  readonly bytes: number;
  readonly addressAt: number;
  /** Data transfers: when, and how many bytes each carried. */
  readonly beats: { readonly atPs: number; readonly bytes: number }[];
  /** Data transfers after which the burst had all its bytes. */
  lasts: number;
  /** Ends told to the master: of a read with its last beat, of a write by the response. */
  responses: number;
  doneAt: number;
  /** By beat: when it was there at the slave (of a write), or at the port on its way back (of a read). */
  there: number[];
}

/** Watches the five channels between masters and their ports, transfer by transfer. */
export class Wires extends Probe {
  readonly bursts: WireBurst[] = [];
  requestsDone = 0;
  private readonly open = new Map<number, WireBurst>();
  private slot = -1;
  private simulation!: Simulation;

  /** Watches a simulation that is not yet started; the sinks at the masters tell which beats of which burst come. */
  attach(simulation: Simulation): void {
    this.simulation = simulation;
    for (const side of simulation.model.masters.flatMap(({ reads, writes }) => [reads, writes])) {
      const receive = side.receive.bind(side);
      side.receive = (slot, first, end, last, edge) => {
        receive(slot, first, end, last, edge);
        this.received(slot, first, end, edge);
        if (last) this.answered(slot);
      };
    }
  }

  override accepted(slot: number): void {
    const { bursts, calendar } = this.simulation.context;
    const burst: WireBurst = {
      master: bursts.master[slot]!,
      number: bursts.number[slot]!,
      write: bursts.op[slot] === 1,
      address: bursts.address[slot]!,
      bytes: bursts.bytes[slot]!,
      addressAt: calendar.now,
      beats: [],
      lasts: 0,
      responses: 0,
      doneAt: NaN,
      there: [],
    };
    this.bursts.push(burst);
    this.open.set(slot, burst);
    this.slot = slot;
  }

  /** Data of writes, beat by beat; that of reads is told by the sinks. */
  override moved(_master: number, write: boolean, bytes: number, atPs: number): void {
    if (write) this.carry(this.open.get(this.slot)!, { atPs, bytes });
  }

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    const hop = bursts.op[slot] === 1 ? bursts.routes[slot]!.hops.length - 1 : 0;
    const base = bursts.beatBase(slot, hop);
    this.open.get(slot)!.there = [...bursts.beats.subarray(base, base + bursts.beatCount(slot, hop))];
  }

  override requestCompleted(): void {
    this.requestsDone++;
  }

  /** Beats of a read, a cycle each, as the port sends them: each with those of its bytes that the burst asks for. */
  private received(slot: number, first: number, end: number, edge: number): void {
    const burst = this.open.get(slot)!;
    if (burst.write) return;
    const { clock, beatBytes } = this.simulation.context.bursts.routes[slot]!.hops[0]!;
    for (let beat = first; beat < end; beat++) {
      const start = (Math.floor(burst.address / beatBytes) + beat) * beatBytes;
      const low = Math.max(start, burst.address);
      const high = Math.min(start + beatBytes, burst.address + burst.bytes);
      this.carry(burst, { atPs: clock.at(edge + beat - first), bytes: high - low });
    }
  }

  private carry(burst: WireBurst, beat: WireBurst['beats'][number]): void {
    burst.beats.push(beat);
    if (burst.beats.reduce((sum, { bytes }) => sum + bytes, 0) === burst.bytes) burst.lasts++;
  }

  private answered(slot: number): void {
    const burst = this.open.get(slot)!;
    burst.responses++;
    burst.doneAt = this.simulation.context.bursts.doneAt[slot]!;
  }
}

/** Runs a system until all that its masters want is back, with the wires watched. */
export function watch(spec: SystemSpec): { wires: Wires; simulation: Simulation } {
  const wires = new Wires();
  const { seed, durationPs, drainPs } = spec.run;
  const simulation = new Simulation(spec, {
    seed,
    replication: 1,
    warmupPs: 0,
    durationPs,
    drainPs,
    probe: wires,
  });
  wires.attach(simulation);
  simulation.run();
  return { wires, simulation };
}

export interface Request {
  readonly write: boolean;
  readonly address: number;
  readonly bytes: number;
}

/** A master, its port and a memory on one bus. */
export interface Lane {
  readonly busBytes: number;
  readonly mostBeats: number;
  readonly master?: Partial<MasterSpec>;
  readonly port?: Partial<PortSpec>;
  readonly memory?: Partial<OnChipSpec>;
}

/** What a master puts on the wires for one request, wanted at the start. */
export function send({ write, address, bytes }: Request, lane: Lane): ReturnType<typeof watch> {
  const entries = [{ timePs: 0, write, address, bytes }];
  return watch(laneSystem(lane, { issue: { process: 'trace', file: '', entries } }));
}

/** The system of a lane. */
export function laneSystem(lane: Lane, more: Partial<MasterSpec> = {}): SystemSpec {
  const { busBytes: widthBytes, mostBeats: burstBeats } = lane;
  return system(
    [
      port('port', ['memory'], { widthBytes, queueDepth: 64, maxReads: Infinity, maxWrites: Infinity, ...lane.port }),
      onChip('memory', { clock: 'fabric', widthBytes, queueDepth: 64, ...lane.memory }),
    ],
    [buffer('data', 'memory')],
    [
      master('sender', 'port', 'data', {
        widthBytes,
        burstBeats,
        maxReads: 64,
        maxWrites: 64,
        ...more,
        ...lane.master,
      }),
    ],
    CLOCKS,
  );
}

/** Data transfers of all bursts. */
export const beatsOf = (wires: Wires): WireBurst['beats'] => wires.bursts.flatMap(({ beats }) => beats);
