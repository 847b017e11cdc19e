import { Clock, crossing, unclocked } from '../engine/clock.js';
import { pathOf, refillPath, type PathStep } from '../scenario/paths.js';
import type { ArbitrationSpec, CoherenceSpec, ElementSpec, MasterSpec, SystemSpec } from '../scenario/scenario.js';
import { CoherenceUnit } from './coherence/coherence-unit.js';
import { StaleFinder } from './coherence/stale-finder.js';
import type { Context } from './context.js';
import { Core } from './core.js';
import { Crossbar, type CrossbarBase } from './crossbar.js';
import { Device } from './device.js';
import { Feeders } from './feeders.js';
import { DdrController } from './dram/controller.js';
import type { Element, ElementBase } from './element.js';
import { Injector } from './injector.js';
import { Master } from './master.js';
import { OnChip } from './on-chip.js';
import { Port } from './port.js';
import { TaskBoard } from './tasks/task-board.js';
import type { Hop, Route, Sink } from './route.js';

/** A simulated system: its elements and masters, joined and ready to start. */
export interface Model {
  readonly elements: readonly Element[];
  readonly masters: readonly (Master | Core)[];
  /** null where there are no tasks. */
  readonly tasks: TaskBoard | null;
}

/** The elements that stand for one entry of the scenario: a coherence unit is two, its tags and the way past them. */
interface Built {
  readonly spec: ElementSpec;
  readonly main: Element;
  readonly bypass: Crossbar | null;
  readonly injector: Injector | null;
}

const FILLS = 'fills and write-backs';

/** Most elements on any route, and most beats of any burst at any element: the size of a burst's record. */
export function recordSize(system: SystemSpec): { hops: number; beats: number } {
  let hops = 1;
  for (const master of system.masters) hops = Math.max(hops, pathOf(system, master)?.length ?? 0);
  let narrowest = Infinity;
  let lineBytes = 0;
  for (const element of system.elements) {
    narrowest = Math.min(narrowest, element.widthBytes);
    if (element.kind !== 'coherence') continue;
    lineBytes = Math.max(lineBytes, element.lineBytes);
    for (const memory of memoriesOf(system)) hops = Math.max(hops, refillPath(system, element, memory)?.length ?? 0);
  }
  let longest = lineBytes;
  for (const master of system.masters) {
    narrowest = Math.min(narrowest, master.widthBytes);
    longest = Math.max(longest, Math.min(4096, master.burstBeats * master.widthBytes));
  }
  // one more for a burst that starts within a beat
  return { hops, beats: Math.ceil(longest / narrowest) + 1 };
}

/** Makes the elements and masters of a system and joins them. The context's bursts must have `recordSize`. */
export function build(system: SystemSpec, context: Context): Model {
  return new Builder(system, context).build();
}

class Builder {
  private readonly clocks = new Map<string, Clock>();
  private readonly built = new Map<string, Built>();
  private readonly elements: Element[] = [];
  private readonly feeders = new Feeders();

  constructor(
    private readonly system: SystemSpec,
    private readonly context: Context,
  ) {
    // two clocks may go by one name: then nothing is paid between them, whatever their periods
    for (const [key, { name, numerator, denominator }] of system.clocks) {
      this.clocks.set(key, new Clock(name, numerator, denominator));
    }
  }

  build(): Model {
    for (const spec of this.system.elements) this.built.set(spec.name, this.make(spec));
    for (const spec of this.system.elements) this.link(spec);
    for (const { injector, bypass } of this.built.values()) if (injector !== null) bypass!.addInput(FILLS, Infinity);
    const inputs = this.system.masters.map((master) => this.attach(master));
    for (const element of this.elements) element.finish();
    for (const spec of this.system.elements) this.setSenders(spec);
    for (const built of this.built.values()) this.connectInjector(built);
    const masters = this.system.masters.map((spec, index) => this.makeMaster(spec, index, inputs[index]!));
    this.feeders.markStraight();
    const units = this.elements.filter((element) => element instanceof CoherenceUnit);
    if (units.some((unit) => unit.spec.model === 'structural')) {
      this.context.stale = new StaleFinder(this.context, this.system, units);
    }
    const tasks = this.system.tasks.length === 0 ? null : new TaskBoard(this.context, this.system, masters);
    this.context.tasks = tasks;
    return { elements: this.elements, masters, tasks };
  }

  private clock(name: string | null): Clock {
    return name === null ? unclocked() : this.clocks.get(name)!;
  }

  private make(spec: ElementSpec): Built {
    const { context } = this;
    const base = this.baseOf(spec);
    switch (spec.kind) {
      case 'port':
        return this.keep(spec, new Port(context, { ...base, ...crossbarBits(spec.forwardCycles) }, spec));
      case 'switch':
        return this.keep(
          spec,
          new Crossbar(context, { ...base, ...crossbarBits(spec.forwardCycles), queues: spec.queues }),
        );
      case 'ddr':
        return this.keep(spec, new DdrController(context, base, spec));
      case 'onchip':
        return this.keep(spec, new OnChip(context, base, spec));
      case 'device':
        return this.keep(spec, new Device(context, base, spec));
      case 'coherence':
        return this.makeCoherence(spec, base);
    }
  }

  private keep(spec: ElementSpec, main: Element): Built {
    this.elements.push(main);
    return { spec, main, bypass: null, injector: null };
  }

  private makeCoherence(spec: CoherenceSpec, base: ElementBase): Built {
    const injector = new Injector(this.context, base.clock);
    const main = new CoherenceUnit(this.context, base, spec, injector, this.system);
    this.elements.push(main);
    const bypass = new Crossbar(this.context, this.bypassBase(spec, base));
    this.elements.push(bypass);
    return { spec, main, bypass, injector };
  }

  private bypassBase(spec: CoherenceSpec, base: ElementBase): CrossbarBase {
    return {
      ...base,
      ...crossbarBits(spec.bypassForwardCycles),
      index: this.elements.length,
      name: `${spec.name} bypass`,
      kind: 'bypass',
      backwardCycles: spec.bypassBackwardCycles,
    };
  }

  private baseOf(spec: ElementSpec): ElementBase {
    const clock = this.clock(spec.clock);
    const crossbar = spec.kind === 'port' || spec.kind === 'switch' ? spec : null;
    return {
      index: this.elements.length,
      name: spec.name,
      kind: spec.kind,
      clock,
      widthBytes: spec.widthBytes,
      syncCycles: spec.syncCycles,
      pack: crossbar?.pack ?? true,
      queueDepth: spec.queueDepth,
      early: crossbar?.writeResponse === 'early',
      backwardCycles: crossbar?.backwardCycles ?? 1,
      arbitration: arbitrationOf(spec),
    };
  }

  /** Joins the outputs of an element to the inputs of those it leads to; a coherence unit is entered in two ways. */
  private link(spec: ElementSpec): void {
    if (!('to' in spec)) return;
    const from = this.crossbarOf(spec.name);
    for (const name of spec.to) {
      const target = this.built.get(name)!;
      from.addOutput(target.main.base.name);
      target.main.addInput(spec.name);
      if (target.bypass === null) continue;
      from.addOutput(target.bypass.base.name);
      target.bypass.addInput(spec.name);
    }
  }

  private crossbarOf(name: string): Crossbar {
    const { main, bypass } = this.built.get(name)!;
    return bypass ?? (main as Crossbar);
  }

  private attach(master: MasterSpec): number {
    const { main, bypass } = this.built.get(master.attach)!;
    bypass?.addInput(master.name);
    return main.addInput(master.name);
  }

  private setSenders(spec: ElementSpec): void {
    if (!('to' in spec)) return;
    const from = this.crossbarOf(spec.name);
    for (const [output, name] of from.outputs.entries()) {
      const target = this.elements.find((element) => element.base.name === name)!;
      const input = target.inputs.indexOf(spec.name);
      for (const write of [false, true]) target.setSender(input, write, from.out(output, write));
    }
  }

  private connectInjector({ spec, bypass, injector }: Built): void {
    if (injector === null || bypass === null) return;
    for (const memory of memoriesOf(this.system)) {
      const steps = refillPath(this.system, spec, memory);
      if (steps === undefined) continue;
      const make = (write: boolean): Route =>
        this.route(steps, FILLS, { clock: bypass.base.clock, widthBytes: bypass.base.widthBytes }, write, injector, -1);
      injector.addMemory(make(false), make(true));
    }
  }

  private makeMaster(spec: MasterSpec, index: number, _input: number): Master | Core {
    const { system, context } = this;
    const buffer = system.buffers.find((candidate) => candidate.name === spec.buffer)!;
    const clock = this.clock(spec.clock);
    const at = this.built.get(spec.attach)!;
    const syncBack = crossing(at.main.base.clock, clock, spec.syncCycles);
    const atDevice = this.built.get(buffer.memory)!.spec.kind === 'device';
    const place = { index, clock, baseAddress: buffer.baseBytes, bufferBytes: buffer.bytes, atDevice, syncBack };
    // a port's QoS holds from the entry on: were it set at a later decision, those of the same instant would see either
    const qos = (at.spec.kind === 'port' ? at.spec.qos : null) ?? spec.qos;
    const master =
      spec.core === null
        ? new Master(context, { ...spec, qos }, place)
        : new Core(context, spec, { ...place, buffer }, at.main as CoherenceUnit);
    const steps = pathOf(system, spec)!;
    const memory = this.built.get(buffer.memory)!.main;
    if (spec.sameIdOrder === 'memory' && memory instanceof DdrController) memory.keepIdOrder(index);
    for (const side of [master.reads, master.writes]) {
      side.connect(
        this.route(
          steps,
          spec.name,
          { clock, widthBytes: spec.widthBytes },
          side === master.writes,
          side,
          this.refillOf(steps, buffer.memory),
        ),
      );
    }
    return master;
  }

  /** Number of a memory among those that the unit at the end of a path refills from. */
  private refillOf(steps: PathStep[], memory: string): number {
    const end = steps.at(-1)!;
    if (end.way !== 'lookup') return -1;
    const reachable = memoriesOf(this.system).filter(
      (name) => refillPath(this.system, end.element, name) !== undefined,
    );
    return reachable.indexOf(memory);
  }

  /**
   * The route along `steps` for what comes in at the first of them from `from`. Beats are as wide as the narrowest
   * element before them that does not let the next one pack them.
   */
  private route(
    steps: PathStep[],
    from: string,
    source: { clock: Clock; widthBytes: number },
    write: boolean,
    sink: Sink,
    refill: number,
  ): Route {
    const elements = steps.map(({ element, way }) => {
      const { main, bypass } = this.built.get(element.name)!;
      return way === 'bypass' ? bypass! : main;
    });
    const beatBytes = beatSizes(elements, source.widthBytes, write);
    const hops: Hop[] = elements.map((element, i) => {
      const before = elements[i - 1];
      const after = elements[i + 1];
      const { clock, syncCycles } = element.base;
      const input = element.inputs.indexOf(before === undefined ? from : specName(before));
      const output = after === undefined ? -1 : (element as Crossbar).outputs.indexOf(after.base.name);
      return {
        element: element.base.index,
        clock,
        syncIn: crossing(before?.base.clock ?? source.clock, clock, syncCycles),
        syncBack: after === undefined ? 0 : crossing(after.base.clock, clock, syncCycles),
        beatBytes: beatBytes[i]!,
        input,
        output,
        reads: element.queue(input, false, output),
        writes: element.queue(input, true, output),
        readLane: element.lane(input, false),
        writeLane: element.lane(input, true),
        // the first element that buffers answers, and no other
        early: element.base.early && !elements.slice(0, i).some((earlier) => earlier.base.early),
      };
    });
    const end = steps.at(-1)!.element;
    this.feeders.add(hops, write);
    return {
      hops,
      sink,
      target: end.name,
      refill,
      immediate: hops.length === 1 && end.kind === 'device' && end.clock === null && source.clock.name === 'none',
      early: write && hops.some((hop) => hop.early),
      lossy: hops.length === 1 && end.kind === 'device' && end.full === 'lose',
    };
  }
}

function crossbarBits(forwardCycles: number): { forwardCycles: number; queues: 'per_input' } {
  return { forwardCycles, queues: 'per_input' };
}

function arbitrationOf(spec: ElementSpec): ArbitrationSpec {
  return spec.kind === 'device' ? spec.discipline : spec.arbitration;
}

/** Name by which the element after it knows an element: both halves of a coherence unit go by the unit's. */
function specName(element: Element): string {
  return element.base.kind === 'bypass' ? element.base.name.replace(/ bypass$/, '') : element.base.name;
}

function memoriesOf(system: SystemSpec): string[] {
  return system.elements.filter((e) => e.kind === 'ddr' || e.kind === 'onchip').map((e) => e.name);
}

/** Bytes of a beat at each element: seen from the master for writes, from the memory for reads. */
function beatSizes(elements: Element[], sourceBytes: number, write: boolean): number[] {
  const sizes: number[] = [];
  const inOrder = write ? elements : elements.toReversed();
  let before = write ? sourceBytes : elements.at(-1)!.base.widthBytes;
  for (const { base } of inOrder) {
    before = base.pack ? base.widthBytes : Math.min(before, base.widthBytes);
    sizes.push(before);
  }
  return write ? sizes : sizes.toReversed();
}
