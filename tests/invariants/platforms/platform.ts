import fc from 'fast-check';
import { written } from './arbitration.js';
import { ddr } from './ddr.js';
import { clock, coherence, crossbar, device, onChip, port } from './elements.js';
import { task, writtenTask, type Worker } from './tasks.js';
import { master } from './traffic.js';
import { ns, type Tree } from './tree.js';

/**
 * Random platforms with their traffic, as scenarios: ports, one to three switches in a row, a coherence unit with cores and
 * coherent ports, memories of both kinds and devices. Whatever is drawn, and however it is shrunk, the scenario is one that
 * reads without a mistake.
 */

type Drawn<T> = T extends fc.Arbitrary<infer V> ? V : never;

const parts = fc.record({
  clocks: fc.tuple(clock, clock, clock, clock),
  ports: fc.array(port, { minLength: 1, maxLength: 4 }),
  switches: fc.array(crossbar, { minLength: 1, maxLength: 3 }),
  unit: fc.option(coherence),
  rams: fc.array(onChip, { minLength: 1, maxLength: 2 }),
  ddr: fc.option(ddr, { freq: 4 }),
  devices: fc.array(device, { maxLength: 2 }),
  masters: fc.array(master, { minLength: 1, maxLength: 5 }),
  run: fc.record({
    seed: fc.nat(1_000_000),
    warmup: fc.constantFrom(0, 300, 1111),
    duration: fc.constantFrom(1000, 500, 2500, 4000),
  }),
  tasks: fc.array(task, { maxLength: 3 }),
});

export type Parts = Drawn<typeof parts>;

/** A scenario as it is written. */
export const randomScenario: fc.Arbitrary<Tree> = parts.map((drawn) => new Writer(drawn).write());

/** Buffers by memory: name, bytes, whether caches may hold it. */
const DDR_BUFFERS: [name: string, size: string, cached: string][] = [
  ['shared', '8 KiB', 'yes'],
  ['stream', '1 MiB', 'no'],
  ['lines', '2 KiB', 'yes'],
  ['mixed', '4 KiB', 'combine'],
];
const RAM_BUFFERS: typeof DDR_BUFFERS = [
  ['near', '8 KiB', 'no'],
  ['warm', '4 KiB', 'yes'],
];

class Writer {
  private readonly ends: string[];
  private readonly links = new Map<string, string[]>();
  private readonly attached = new Map<string, string[]>();
  private readonly buffers: { name: string; memory: string; keys: Tree }[] = [];
  private readonly masters: { name: string; attach: string; keys: Tree }[] = [];

  constructor(private readonly drawn: Parts) {
    const names = (list: readonly unknown[], prefix: string): string[] => list.map((_, i) => `${prefix}${i}`);
    const { rams, devices } = drawn;
    this.ends = [...(drawn.ddr === null ? [] : ['ddr']), ...names(rams, 'ram'), ...names(devices, 'dev')];
    this.join();
    this.placeBuffers();
    for (const [i, one] of drawn.masters.entries()) this.addMaster(`m${i}`, one);
  }

  write(): Tree {
    const { clocks, ports, switches, unit, rams, ddr: dram, devices, run } = this.drawn;
    const used = new Set(this.masters.map(({ keys }) => keys['buffer']));
    return {
      title: 'a random platform',
      platform: {
        clocks: Object.fromEntries(clocks.map((period, i) => [clockName(i), period])),
        ports: this.block(ports, 'port'),
        switches: this.block(switches, 'switch'),
        ...(unit === null ? {} : { coherence: { unit: this.unitKeys(unit) } }),
        memories: { ...(dram === null ? {} : { ddr: this.element('ddr', dram) }), ...this.block(rams, 'ram') },
        ...(devices.length === 0 ? {} : { devices: this.block(devices, 'dev') }),
      },
      buffers: Object.fromEntries(
        this.buffers.filter(({ name }) => used.has(name)).map(({ name, keys }) => [name, keys]),
      ),
      masters: Object.fromEntries(this.masters.map(({ name, keys }) => [name, keys])),
      ...this.taskBlock(),
      run: { seed: run.seed, replications: 1, warmup: ns(run.warmup), duration: ns(run.duration), drain: '1 ms' },
    };
  }

  /** Who leads where: ports and the unit to switches, each switch to the next one, the last to every memory and device. */
  private join(): void {
    const { ports, switches, unit } = this.drawn;
    const last = switches.length - 1;
    const end = (number: number): string => this.ends[number % this.ends.length]!;
    for (const [i, one] of ports.entries()) {
      const aside = one.aside === null ? [] : [end(one.aside)];
      const coherent = one.coherent && unit !== null;
      this.links.set(`port${i}`, coherent ? ['unit'] : [`switch${one.to % switches.length}`, ...aside]);
    }
    for (const [i, { to }] of switches.entries()) {
      const some = [...new Set(to.map(end))];
      this.links.set(`switch${i}`, i === last ? this.ends : [`switch${i + 1}`, ...some]);
    }
    if (unit !== null)
      this.links.set('unit', [...(unit.aside ? [this.ends[0]!] : []), `switch${unit.to % switches.length}`]);
  }

  private placeBuffers(): void {
    const add = (memory: string, prefix: string, list: typeof DDR_BUFFERS): void => {
      for (const [name, size, cached] of list) {
        this.buffers.push({ name: `${prefix}${name}`, memory, keys: { memory, size, cached } });
      }
    };
    for (const memory of this.ends) {
      if (memory === 'ddr') add(memory, '', DDR_BUFFERS);
      else if (memory.startsWith('ram')) add(memory, `${memory}_`, RAM_BUFFERS);
      else add(memory, `${memory}_`, [['box', '4 KiB', 'no']]);
    }
  }

  private addMaster(name: string, one: Drawn<typeof master>): void {
    const { ports, devices, unit, run } = this.drawn;
    const direct = one.kind === 'direct' && devices.length > 0;
    const core = one.kind === 'core' && unit !== null;
    const attach = direct ? `dev${one.at % devices.length}` : core ? 'unit' : `port${one.at % ports.length}`;
    const reached = direct ? this.buffers.filter(({ memory }) => memory === attach) : this.buffers;
    const length = run.warmup + run.duration;
    // a greedy source at a device that loses is a mistake of the scenario
    const loses = direct && devices[one.at % devices.length]!.keys.full === 'lose';
    const keys: Tree = {
      attach,
      clock: one.clock === null && !core ? 'none' : clockName(one.clock ?? 0),
      buffer: reached[one.where % reached.length]!.name,
      ...one.keys,
      ...(loses && one.keys.issue === 'greedy' ? { issue: 'dependent' } : {}),
      ...(core ? { core: one.core, size: one.coreBytes } : {}),
      ...(unit?.keys.model === 'statistical' ? { hit_ratio: `${one.hit} %` } : {}),
      start: ns(Math.round(one.start * length)),
      stop: ns(Math.round(one.stop * length)),
    };
    this.masters.push({ name, attach, keys });
    this.attached.set(attach, [...(this.attached.get(attach) ?? []), name]);
  }

  /** Tasks of those masters that lose nothing, until masters stop wanting at the latest. */
  private taskBlock(): Tree {
    const { devices, tasks, run } = this.drawn;
    const workers = this.masters.flatMap(({ name, attach, keys }): Worker[] => {
      const buffer = this.buffers.find((one) => one.name === keys['buffer'])!;
      const device = devices.findIndex((_, i) => `dev${i}` === buffer.memory);
      if (device >= 0 && devices[device]!.keys.full === 'lose') return [];
      const core = keys['core'] !== undefined;
      return [
        { name, buffer: buffer.name, cached: buffer.keys['cached'] as string, core, atPort: attach.startsWith('port') },
      ];
    });
    const written: Tree = {};
    let before: string | null = null;
    for (const [i, one] of tasks.entries()) {
      const keys = writtenTask(one, before, workers, ns(run.warmup + run.duration));
      if (keys === null) continue;
      before = `t${i}`;
      written[before] = keys;
    }
    return before === null ? {} : { tasks: written };
  }

  private block(list: readonly Parameters<Writer['element']>[1][], prefix: string): Tree {
    return Object.fromEntries(list.map((one, i) => [`${prefix}${i}`, this.element(`${prefix}${i}`, one)]));
  }

  private element(
    name: string,
    {
      clock: number,
      arbitration,
      keys,
    }: { clock: number | null; arbitration: Parameters<typeof written>[0]; keys: Tree },
  ): Tree {
    const to = this.links.get(name);
    return {
      clock: number === null ? 'none' : clockName(number),
      ...(to === undefined ? {} : { to }),
      ...keys,
      arbitration: written(arbitration, this.inputsOf(name), name !== 'unit'),
    };
  }

  private unitKeys(unit: Drawn<typeof coherence>): Tree {
    const requesters = this.inputsOf('unit').length;
    const entries = {
      miss_entries: Math.max(1, unit.minimum * requesters) + unit.spare,
      min_miss_entries: unit.minimum,
    };
    return { ...this.element('unit', { ...unit, keys: unit.keys }), ...entries };
  }

  /** Elements and masters that lead to an element. */
  private inputsOf(name: string): string[] {
    const linked = [...this.links].filter(([, to]) => to.includes(name)).map(([from]) => from);
    return [...linked, ...(this.attached.get(name) ?? [])];
  }
}

function clockName(number: number): string {
  return `clock${number}`;
}
