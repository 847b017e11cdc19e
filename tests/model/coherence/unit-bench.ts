/** A coherence unit between scripted requesters and a memory of fixed latency, for tests that count every cycle. */
import { Calendar, type Actor } from '../../../src/engine/calendar.js';
import type { Carrier } from '../../../src/engine/carrier.js';
import { Clock } from '../../../src/engine/clock.js';
import { Phase } from '../../../src/engine/phase.js';
import type { ArbitrationSpec, CoherenceSpec, MasterSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { Bursts, Pending, READ, WRITE } from '../../../src/model/bursts.js';
import { Finals } from '../../../src/model/finals.js';
import type { Context } from '../../../src/model/context.js';
import { EndPoint } from '../../../src/model/end-point.js';
import type { Element, ElementBase } from '../../../src/model/element.js';
import type { ForwardQueue } from '../../../src/model/forward-queue.js';
import { Injector } from '../../../src/model/injector.js';
import { Probe } from '../../../src/model/probe.js';
import type { Route, Sink } from '../../../src/model/route.js';
import { Window } from '../../../src/model/window.js';
import type { AccessSource } from '../../../src/model/coherence/access-source.js';
import { CachedCore } from '../../../src/model/coherence/cached-core.js';
import { CoherenceUnit } from '../../../src/model/coherence/coherence-unit.js';
import { StructuralModel } from '../../../src/model/coherence/structural-model.js';

/** One cycle of the unit, in ps. */
export const CYCLE = 1000;
export const LINE = 64;
export const clock = new Clock('unit', CYCLE, 1);

export const fair: ArbitrationSpec = {
  policy: 'round_robin',
  grain: 1,
  priority: [],
  weights: new Map(),
  ageingPs: 0,
  slots: [],
};

/** Lookup 4, data 3, intervention 9, upgrade 5, fill 2 cycles; 16 bytes a beat; L2 of 16 lines, 4 ways, LRU. */
export const unitSpec: CoherenceSpec = {
  kind: 'coherence',
  name: 'cu',
  to: ['mem'],
  clock: 'unit',
  widthBytes: 16,
  lineBytes: LINE,
  syncCycles: 2,
  model: 'structural',
  l2: { bytes: 16 * LINE, ways: 4, replacement: 'lru', inclusive: true },
  lookupCycles: 4,
  dataCycles: 3,
  interventionCycles: 9,
  upgradeCycles: 5,
  fillCycles: 2,
  bypassForwardCycles: 1,
  bypassBackwardCycles: 1,
  queueDepth: 64,
  missEntries: 8,
  minMissEntries: 1,
  writebackSlots: 4,
  partialWriteMiss: 'fetch',
  portReadAllocate: true,
  portWriteAllocate: true,
  dirtyShare: 0,
  arbitration: fair,
};

export interface Options {
  spec?: Partial<CoherenceSpec>;
  /** Names of coherent ports. */
  ports?: string[];
  /** Cores with what they do. */
  cores?: CoreOptions[];
  /** Cycles from a burst's arrival at memory to its first beat, or to its acceptance. */
  readCycles?: number;
  writeCycles?: number;
  shuffle?: () => number;
  hitRatio?: number;
  memoryBytes?: number;
}

export interface CoreOptions {
  name: string;
  source: AccessSource;
  clock?: Clock;
  l1?: { bytes: number; ways: number };
  hitCycles?: number;
  parallelism?: number;
  process?: 'greedy' | 'dependent' | 'trace';
}

/** An access of a port that came back. */
export interface Done {
  port: string;
  op: 'read' | 'write';
  address: number;
  firstPs: number;
  lastPs: number;
}

/** Memory that takes everything at once and answers after a fixed time; it keeps a log. */
class FixedMemory extends EndPoint {
  readonly log: { op: 'read' | 'write'; address: number; bytes: number; atPs: number; master: number }[] = [];

  constructor(
    context: Context,
    base: ElementBase,
    private readonly readCycles: number,
    private readonly writeCycles: number,
  ) {
    super(context, base);
  }

  arrived(queue: ForwardQueue): void {
    const { bursts } = this.context;
    const slot = queue.pop();
    const at = bursts.usableAt[slot]!;
    queue.release(this.context.calendar.now);
    const op = queue.write ? 'write' : 'read';
    const [address, bytes, master] = [bursts.address[slot]!, bursts.bytes[slot]!, bursts.master[slot]!];
    this.log.push({ op, address, bytes, atPs: at, master });
    if (queue.write) {
      bursts.finalAt[slot] = at + this.writeCycles * CYCLE;
      this.acceptWrite(slot);
      return;
    }
    for (let beat = 0; beat < bursts.beatCount(slot, 0); beat++) {
      this.setBeat(slot, beat, at + (this.readCycles + beat) * CYCLE);
      this.returned(slot, beat, beat);
    }
  }
}

/** A coherent port that issues what it is told, when it is told. */
export class PortDriver implements Actor, Sink {
  private readonly script: { atPs: number; op: number; address: number; bytes: number; beatCycles: number }[] = [];
  private readonly carriers: [Carrier, Carrier];
  private readonly finished: [number[], number[]] = [[], []];
  private readonly issueCarrier: Carrier;
  private readonly firstAt = new Map<number, number>();
  private issued = 0;

  constructor(
    private readonly bed: UnitBench,
    readonly name: string,
    readonly master: number,
    private readonly input: number,
  ) {
    const { calendar } = bed.context;
    this.carriers = [calendar.carrier(this, READ, Phase.complete), calendar.carrier(this, WRITE, Phase.complete)];
    this.issueCarrier = calendar.carrier(this, 2, Phase.arrive);
  }

  read(cycle: number, address: number, bytes = LINE): this {
    return this.plan(cycle, READ, address, bytes);
  }

  /** `beatCycles`: cycles from one beat of the data to the next, the first with the address. */
  write(cycle: number, address: number, bytes = LINE, beatCycles = 0): this {
    return this.plan(cycle, WRITE, address, bytes, beatCycles);
  }

  wake(tag: number): void {
    if (tag !== 2) {
      this.settle(tag);
      return;
    }
    const { calendar } = this.bed.context;
    while (this.script.length > 0 && this.script[0]!.atPs <= calendar.now) this.issue(this.script.shift()!);
    if (this.script.length > 0) calendar.arm(this.issueCarrier, this.script[0]!.atPs);
  }

  receive(slot: number, first: number, end: number, last: boolean, edge: number): void {
    const { clock } = this.bed.context.bursts.routes[slot]!.hops[0]!;
    if (first === 0) this.firstAt.set(slot, clock.at(edge));
    const timePs = clock.at(edge + end - first - 1);
    if (!last) return;
    const { bursts, calendar } = this.bed.context;
    bursts.doneAt[slot] = timePs;
    const queue = this.finished[bursts.op[slot]!]!;
    queue.push(slot);
    if (queue.length === 1) calendar.arm(this.carriers[bursts.op[slot]!]!, timePs);
  }

  private plan(cycle: number, op: number, address: number, bytes: number, beatCycles = 0): this {
    this.script.push({ atPs: cycle * CYCLE, op, address, bytes, beatCycles });
    this.script.sort((a, b) => a.atPs - b.atPs);
    this.bed.context.calendar.armBy(this.issueCarrier, this.script[0]!.atPs);
    return this;
  }

  private issue({ op, address, bytes, beatCycles }: PortDriver['script'][number]): void {
    const { bursts, calendar, tally } = this.bed.context;
    const route = this.bed.routeTo(this.bed.unit, this.input, this, 0);
    const slot = bursts.allocate(route);
    Object.entries({
      op,
      master: this.master,
      number: this.issued,
      id: this.issued,
      draw: this.issued,
      part: 0,
      qos: 0,
      address,
      bytes,
    }).forEach(([key, value]) => (bursts[key as 'op'][slot] = value));
    this.issued++;
    bursts.wantedAt[slot] = calendar.now;
    bursts.usableAt[slot] = calendar.now;
    bursts.clearBeats(slot);
    const base = bursts.beatBase(slot, 0);
    for (let beat = 0; beat < bursts.beatCount(slot, 0); beat++) {
      bursts.beats[base + beat] = calendar.now + beat * beatCycles * CYCLE;
    }
    if (op === READ) bursts.beats.fill(Infinity, bursts.beatBase(slot, 0), bursts.beatBase(slot, 1));
    tally.issuedBursts++;
    (op === WRITE ? route.hops[0]!.writes : route.hops[0]!.reads).push(slot);
  }

  private settle(op: number): void {
    const { bursts, calendar, tally } = this.bed.context;
    const queue = this.finished[op as 0 | 1];
    const slot = queue.shift()!;
    if (queue.length > 0) calendar.arm(this.carriers[op as 0 | 1], bursts.doneAt[queue[0]!]!);
    tally.completedBursts++;
    this.bed.done.push({
      port: this.name,
      op: op === READ ? 'read' : 'write',
      address: bursts.address[slot]!,
      firstPs: this.firstAt.get(slot)!,
      lastPs: bursts.doneAt[slot]!,
    });
    bursts.settle(slot, Pending.response);
  }
}

/** Tells when each access of a core was wanted and done. */
export class CoreLog extends Probe {
  readonly accesses: { master: number; write: boolean; address: number; wantedPs: number; donePs: number }[] = [];
  bursts!: Bursts;

  override completed(slot: number): void {
    const { bursts } = this;
    if (bursts.number[slot]! < 0) return;
    this.accesses.push({
      master: bursts.master[slot]!,
      write: bursts.op[slot] === WRITE,
      address: bursts.address[slot]!,
      wantedPs: bursts.wantedAt[slot]!,
      donePs: bursts.doneAt[slot]!,
    });
  }
}

export class UnitBench {
  readonly context: Context;
  readonly unit: CoherenceUnit;
  readonly memory: FixedMemory;
  readonly ports = new Map<string, PortDriver>();
  readonly cores: CachedCore[] = [];
  readonly done: Done[] = [];
  readonly log = new CoreLog();
  readonly system: SystemSpec;

  constructor(options: Options) {
    const spec = { ...unitSpec, ...options.spec };
    const ports = options.ports ?? [];
    const cores = options.cores ?? [];
    const bursts = new Bursts(2, 260);
    this.log.bursts = bursts;
    this.context = {
      calendar: new Calendar(options.shuffle ?? null),
      bursts,
      probe: this.log,
      window: new Window(0, 1e12),
      seed: 'bench',
      replication: 1,
      warnings: new Map(),
      places: { count: 0, lanes: [] },
      tally: { counted: 0, issuedBursts: 0, completedBursts: 0 },
      stale: null,
      tasks: null,
      finals: new Finals(),
    };
    const memoryBytes = options.memoryBytes ?? 1 << 20;
    const masters = [
      ...cores.map((core) => masterSpec(core.name, 'cu', core, options.hitRatio)),
      ...ports.map((name) => masterSpec(`${name}-master`, name, null, options.hitRatio)),
    ];
    this.system = {
      placement: 'bench',
      clocks: new Map([['unit', { name: 'unit', numerator: CYCLE, denominator: 1 }]]),
      elements: [spec, memorySpec(memoryBytes)],
      buffers: [{ name: 'buffer', memory: 'mem', baseBytes: 0, bytes: memoryBytes, cached: 'yes' }],
      masters,
      tasks: [],
      budgets: [],
      metrics: [],
      run: {
        seed: 'bench',
        replications: 1,
        durationPs: 1,
        warmupPs: 0,
        drainPs: 0,
        exact: false,
        journeys: 'off',
        timeline: 'off',
      },
    };
    this.memory = new FixedMemory(
      this.context,
      elementBase(1, 'mem', 'onchip'),
      options.readCycles ?? 10,
      options.writeCycles ?? 10,
    );
    this.memory.addInput('fills', Infinity);
    this.memory.finish();
    const injector = new Injector(this.context, clock);
    this.unit = new CoherenceUnit(this.context, elementBase(0, 'cu', 'coherence'), spec, injector, this.system);
    for (const name of [...cores.map((core) => core.name), ...ports]) this.unit.addInput(name, 64);
    this.unit.finish();
    const child = this.routeTo(this.memory, 0, injector, -1);
    injector.addMemory(child, child);
    for (const [index, options_] of cores.entries()) this.cores.push(this.makeCore(index, masters[index]!, options_));
    for (const [i, name] of ports.entries()) {
      this.ports.set(name, new PortDriver(this, name, cores.length + i, cores.length + i));
    }
  }

  port(name: string): PortDriver {
    return this.ports.get(name)!;
  }

  get structural(): StructuralModel {
    return this.unit.model as StructuralModel;
  }

  /** Runs until nothing is left to happen, or for so many cycles. */
  run(cycles = 1e7): this {
    if (this.context.calendar.now === 0) for (const core of this.cores) core.start();
    this.context.calendar.run(cycles * CYCLE);
    return this;
  }

  /** What came back, in order, with times in cycles. */
  trace(): [string, string, number, number][] {
    return this.done.map(({ port, op, address, lastPs }) => [port, op, address / LINE, lastPs / CYCLE]);
  }

  routeTo(element: Element, input: number, sink: Sink, refill: number): Route {
    const hop = {
      element: element.base.index,
      clock,
      syncIn: 0,
      syncBack: 0,
      beatBytes: 16,
      input,
      output: -1,
      reads: element.queue(input, false, -1),
      writes: element.queue(input, true, -1),
      readLane: element.lane(input, false),
      writeLane: element.lane(input, true),
      early: false,
    };
    return { hops: [hop], sink, target: 'mem', refill, immediate: false, early: false, lossy: false };
  }

  private makeCore(index: number, spec: MasterSpec, options: CoreOptions): CachedCore {
    const place = { index, clock: options.clock ?? clock, baseAddress: 0, syncBack: 0 };
    const core = new CachedCore(this.context, spec, place, options.source, this.unit);
    core.reads.connect(this.routeTo(this.unit, index, core.reads, 0));
    core.writes.connect(this.routeTo(this.unit, index, core.writes, 0));
    return core;
  }
}

/** Accesses one after the other: [read or write, line or byte address]. */
export class Script implements AccessSource {
  isOpen = false;
  wantedPs = 0;
  write = false;
  offset = 0;
  bytes = 8;
  thinkPs = 0;
  serviceDraw = 0;
  private next = 0;

  constructor(
    private readonly steps: { write?: boolean; line: number; at?: number; bytes?: number; think?: number }[],
  ) {
    this.isOpen = steps.some((step) => step.at !== undefined);
  }

  advance(): void {
    const step = this.steps[this.next++];
    if (step === undefined) {
      // a closed script ends by wanting nothing for ever: it thinks too long
      this.isOpen = true;
      this.wantedPs = Infinity;
      return;
    }
    this.write = step.write ?? false;
    this.offset = step.line * LINE;
    this.bytes = step.bytes ?? 8;
    this.thinkPs = step.think ?? 0;
    if (step.at !== undefined) this.wantedPs = step.at;
  }
}

function elementBase(index: number, name: string, kind: string): ElementBase {
  return {
    index,
    name,
    kind,
    clock,
    widthBytes: 16,
    syncCycles: 0,
    pack: true,
    queueDepth: 64,
    early: false,
    backwardCycles: 1,
    arbitration: fair,
  };
}

function memorySpec(bytes: number): SystemSpec['elements'][number] {
  return {
    kind: 'onchip',
    name: 'mem',
    clock: 'unit',
    widthBytes: 16,
    syncCycles: 0,
    bytes,
    banks: 1,
    interleaveBytes: 64,
    accessCycles: 1,
    queueDepth: 4,
    arbitration: fair,
  };
}

function masterSpec(name: string, attach: string, core: CoreOptions | null, hitRatio = 0.5): MasterSpec {
  return {
    name,
    group: null,
    attach,
    clock: 'unit',
    widthBytes: 16,
    syncCycles: 0,
    burstBeats: 4,
    maxReads: 8,
    maxWrites: 8,
    ids: 1,
    sameIdOrder: 'port',
    qos: 0,
    readShare: 1,
    buffer: 'buffer',
    pattern: { pattern: 'sequential' },
    size: { kind: 'fixed', value: 8 },
    issue: issueOf(core?.process ?? 'greedy'),
    startPs: 0,
    stopPs: Infinity,
    hitRatio,
    asked: { reads: false, writes: false },
    core:
      core === null
        ? null
        : {
            l1: { bytes: 4 * LINE, ways: 2, replacement: 'lru', ...core.l1 },
            hitCycles: core.hitCycles ?? 2,
            parallelism: core.parallelism ?? 4,
            maintenanceCycles: 8,
            barrierCycles: 20,
          },
    whenFull: 'wait',
  };
}

function issueOf(process: 'greedy' | 'dependent' | 'trace'): MasterSpec['issue'] {
  if (process === 'greedy') return { process };
  if (process === 'trace') return { process, file: '', entries: [] };
  return { process, think: { kind: 'fixed', value: 0 } };
}
