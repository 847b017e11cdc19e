import { CoherenceUnit } from '../../../src/model/coherence/coherence-unit.js';
import { StructuralModel } from '../../../src/model/coherence/structural-model.js';
import type { TagStore } from '../../../src/model/coherence/tag-store.js';
import { Probe } from '../../../src/model/probe.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { MasterSpec, Replacement, SystemSpec } from '../../../src/scenario/scenario.js';
import { unitSpec } from '../../model/coherence/unit-bench.js';
import { buffer, clock, master, onChip, port, system } from '../../model/platform.js';

/** Where the cache in question stands: before a core, or behind a coherent port. */
export type Place = 'L1' | 'L2';

export interface Shape {
  readonly sets: number;
  readonly ways: number;
  readonly replacement: Replacement;
  readonly lineBytes: number;
}

/** What one requester asks for, one access at a time: lines in turn, or what its pattern draws. */
export interface Asked {
  readonly lines?: readonly number[];
  readonly pattern?: MasterSpec['pattern'];
  /** Bytes of an access; a whole line unless given. */
  readonly bytes?: number;
  readonly bufferLines: number;
}

/** Time between the accesses of a list of lines: long enough for each to be over. */
const STEP_PS = 1_000_000;
const CLOCK = 'unit';

/** Keeps the lookups of the cache in question, and stops the calendar after so many. */
class Lookups extends Probe {
  readonly hit: boolean[] = [];
  simulation!: Simulation;
  /** Told of each lookup, before the cache makes room for what it missed. */
  before: () => void = () => {};

  constructor(
    private readonly cache: number,
    private readonly most: number,
  ) {
    super();
  }

  override lookup(_element: number, cache: number, _master: number, _line: number, hit: boolean): void {
    if (cache !== this.cache) return;
    this.before();
    this.hit.push(hit);
    if (this.hit.length === this.most) this.simulation.context.calendar.stop();
  }
}

/** One cache of a simulated system, alone with one requester. */
export class OneCache {
  private readonly simulation: Simulation;
  private readonly lookups: Lookups;

  /** `most`: lookups after which it stops. */
  constructor(
    private readonly place: Place,
    shape: Shape,
    asked: Asked,
    { most = Infinity, replication = 1 }: { most?: number; replication?: number } = {},
  ) {
    this.lookups = new Lookups(place === 'L1' ? 1 : 0, most);
    const options = { seed: 'caches', replication, warmupPs: 0, durationPs: 1e15, drainPs: 0, probe: this.lookups };
    this.simulation = new Simulation(systemOf(place, shape, asked), options);
    this.lookups.simulation = this.simulation;
    for (const one of this.simulation.model.masters) one.start();
  }

  /** Runs to the end; answers for each lookup whether it hit. */
  hits(): readonly boolean[] {
    this.simulation.context.calendar.run(Infinity);
    return this.lookups.hit;
  }

  /** Runs to the end; answers for each lookup whether it hit, and the line that it pushed out. */
  steps(): { hit: boolean; evicted: number | null }[] {
    const held: number[][] = [];
    this.lookups.before = () => held.push(this.held());
    const hits = this.hits();
    held.push(this.held());
    return hits.map((hit, k) => ({ hit, evicted: held[k]!.find((line) => !held[k + 1]!.includes(line)) ?? null }));
  }

  private held(): number[] {
    return [...this.tags.entries()].map(({ line }) => line);
  }

  private get tags(): TagStore {
    const unit = this.simulation.model.elements.find((element) => element instanceof CoherenceUnit)!;
    if (this.place === 'L1') return unit.cores[0]!.tags;
    if (unit.model instanceof StructuralModel) return unit.model.l2;
    throw new Error('the shared cache has no tags');
  }
}

function systemOf(place: Place, shape: Shape, asked: Asked): SystemSpec {
  const { sets, ways, replacement, lineBytes } = shape;
  const bytes = sets * ways * lineBytes;
  const bufferBytes = asked.bufferLines * lineBytes;
  // a private cache is tried before a shared one that has room for all
  const room = { bytes: roomFor(bufferBytes), ways: 16, replacement: 'lru' as const, inclusive: false };
  const l2 = place === 'L1' ? room : { bytes, ways, replacement, inclusive: true };
  const core =
    place === 'L1'
      ? { l1: { bytes, ways, replacement }, hitCycles: 1, parallelism: 1, maintenanceCycles: 8, barrierCycles: 20 }
      : null;
  const memoryBytes = Math.max(bufferBytes, 4096);
  const keys = {
    clock: CLOCK,
    maxReads: 1,
    burstBeats: 16,
    core,
    size: { kind: 'fixed', value: asked.bytes ?? lineBytes } as const,
    issue: issueOf(asked, lineBytes),
    ...(asked.pattern === undefined ? {} : { pattern: asked.pattern }),
  };
  return system(
    [
      { ...unitSpec, lineBytes, l2 },
      onChip('mem', { clock: CLOCK, bytes: memoryBytes }),
      ...(place === 'L2' ? [port('p', ['cu'], { clock: CLOCK })] : []),
    ],
    [{ ...buffer('data', 'mem', 0, bufferBytes), cached: 'yes' }],
    [master(`requester of ${place}`, place === 'L1' ? 'cu' : 'p', 'data', keys)],
    [clock(CLOCK, 1000)],
  );
}

function issueOf({ lines }: Asked, lineBytes: number): MasterSpec['issue'] {
  if (lines === undefined) return { process: 'greedy' };
  const entries = lines.map((line, k) => ({
    timePs: k * STEP_PS,
    write: false,
    address: line * lineBytes,
    bytes: lineBytes,
  }));
  return { process: 'trace', file: '', entries };
}

/** The first power of two that holds so many bytes. */
const roomFor = (bytes: number): number => 2 ** Math.ceil(Math.log2(Math.max(bytes, 16 * 64)));
