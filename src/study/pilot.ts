import { settledAtPs, type PilotSeries } from '../measure/statistics/warmup.js';
import { Probe } from '../model/probe.js';
import type { RequestTable } from '../model/request-table.js';
import { Simulation } from '../model/simulation.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { type Asked, fillingPs } from './filling.js';
import { type Steps, walkThrough } from './steps.js';

/** Samples that a pilot keeps of each path. */
const MOST_SAMPLES = 100_000;

/** One pilot replication, for whoever is free to simulate it; plain data, as a `Job` is. */
export interface Pilot {
  readonly system: SystemSpec;
  readonly seed: string;
  readonly lengthPs: number;
}

/** What a pilot brought, as plain data. */
export interface Settled {
  /** When each path had settled, or null where one had not. */
  readonly settledPs: readonly (number | null)[];
  /** When the caches are filled. */
  readonly filledPs: number;
}

/** The latency series of every path of one pilot. */
class PilotProbe extends Probe {
  readonly series = new Map<number, { wanted: number[]; latency: number[] }>();
  /** By master. */
  private readonly requests: number[] = [];
  private readonly bytes: number[] = [];
  simulation!: Simulation;

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.number[slot]! < 0) return;
    const key = 2 * bursts.master[slot]! + bursts.op[slot]!;
    let path = this.series.get(key);
    if (path === undefined) this.series.set(key, (path = { wanted: [], latency: [] }));
    if (path.wanted.length >= MOST_SAMPLES) return;
    path.wanted.push(bursts.wantedAt[slot]!);
    path.latency.push(bursts.doneAt[slot]! - bursts.wantedAt[slot]!);
  }

  override requestCompleted(master: number, _write: boolean, requests: RequestTable, request: number): void {
    this.requests[master] = (this.requests[master] ?? 0) + 1;
    this.bytes[master] = (this.bytes[master] ?? 0) + requests.bytes[request]!;
  }

  /** What each master asked for and got. */
  asked(): Asked[] {
    const { masters } = this.simulation.model;
    return masters.map((_, index) => ({ requests: this.requests[index] ?? 0, bytes: this.bytes[index] ?? 0 }));
  }

  /** In order of the wanted instant. */
  pilots(): PilotSeries[] {
    return [...this.series.values()].map(({ wanted, latency }) => {
      const order = wanted.map((_, i) => i).toSorted((a, b) => wanted[a]! - wanted[b]! || a - b);
      return { timesPs: order.map((i) => wanted[i]!), values: order.map((i) => latency[i]!) };
    });
  }
}

/** Simulates a pilot. */
export function settle(pilot: Pilot): Settled {
  return walkThrough(settling(pilot));
}

/** The same for who has to look up in between. */
export function* settling({ system, seed, lengthPs }: Pilot): Steps<Settled> {
  const probe = new PilotProbe();
  const simulation = new Simulation(system, {
    seed,
    replication: 0,
    warmupPs: 0,
    durationPs: lengthPs,
    drainPs: 0,
    probe,
  });
  probe.simulation = simulation;
  yield* simulation.steps();
  return {
    settledPs: probe.pilots().map(settledAtPs),
    filledPs: fillingPs(system, simulation.model, probe.asked(), lengthPs),
  };
}
