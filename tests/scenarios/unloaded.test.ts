import { describe, expect, test } from 'vitest';
import { Clock } from '../../src/engine/clock.js';
import { uses } from '../../src/measure/path-facts.js';
import { DdrController } from '../../src/model/dram/controller.js';
import { Command } from '../../src/model/dram/command.js';
import type { IdleOutcome } from '../../src/model/coherence/unloaded.js';
import { Probe } from '../../src/model/probe.js';
import { Simulation } from '../../src/model/simulation.js';
import { unloadedRead, unloadedWrite } from '../../src/model/unloaded.js';
import { pathOf } from '../../src/scenario/paths.js';
import type { CoherenceSpec, DdrSpec, MasterSpec, PatternSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { idleCoreLatency, idlePath, type IdleState } from '../../src/study/idle-path.js';
import { MOBILE, parse, read, shipped, systemOf, withMasters } from './shipped.js';

const THINK_PS = 2_000_000;
const BURSTS = 40;

interface Burst {
  readonly write: boolean;
  readonly address: number;
  readonly bytes: number;
  readonly wantedPs: number;
  readonly latencyPs: number;
  readonly serviceDraw: number;
}

interface Commanded {
  readonly element: number;
  readonly atPs: number;
  readonly channel: number;
  readonly bank: number;
  readonly kind: number;
  readonly row: number;
}

/** Writes down every burst of the one master, and what each DRAM did when. */
class Diary extends Probe {
  readonly bursts: Burst[] = [];
  readonly commands: Commanded[] = [];
  simulation!: Simulation;

  constructor(private readonly dram: ReadonlyMap<number, { readonly spec: DdrSpec; readonly clock: Clock }>) {
    super();
  }

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.number[slot]! < 0) return;
    const wantedPs = bursts.wantedAt[slot]!;
    this.bursts.push({
      write: bursts.op[slot] === 1,
      address: bursts.address[slot]!,
      bytes: bursts.bytes[slot]!,
      wantedPs,
      latencyPs: bursts.doneAt[slot]! - wantedPs,
      serviceDraw: bursts.serviceDraw[slot]!,
    });
  }

  override command(
    element: number,
    channel: number,
    rank: number,
    _group: number,
    bank: number,
    row: number,
    kind: number,
    clock: number,
  ): void {
    const { spec, clock: tck } = this.dram.get(element)!;
    const place = rank * spec.timing.banks + bank;
    this.commands.push({ element, atPs: tck.at(clock), channel, bank: place, kind, row });
  }

  /** The row that a bank is left with by all that was commanded before `beforePs`; −1: none. */
  openRow(channel: number, bank: number, beforePs: number): number {
    let row = -1;
    for (const command of this.commands) {
      if (command.atPs >= beforePs || command.channel !== channel || command.bank !== bank) continue;
      if (command.kind === Command.activate) row = command.row;
      else if (command.kind !== Command.read && command.kind !== Command.write) row = -1;
    }
    return row;
  }
}

/** Bytes of a request that is a single burst. */
function burstOf(master: MasterSpec): number {
  const most = master.burstBeats * master.widthBytes;
  return master.size.kind === 'fixed' ? Math.min(most, master.size.value) : most;
}

/** One master alone on an idle system: nothing else issues, no refresh, and all has come to rest before each burst. */
function alone(system: SystemSpec, name: string, write: boolean, pattern: PatternSpec | null): SystemSpec {
  const quiet = withMasters(system, (master): MasterSpec => {
    if (master.name !== name) return { ...master, issue: { process: 'silent' } };
    return {
      ...master,
      size: { kind: 'fixed', value: burstOf(master) },
      readShare: write ? 0 : 1,
      maxReads: 1,
      maxWrites: 1,
      pattern: pattern ?? master.pattern,
      // not a whole number of any clock's cycles, so that every burst is wanted at another phase of the clocks
      issue: { process: 'dependent', think: { kind: 'uniform', low: THINK_PS, high: THINK_PS + 20_000 } },
      startPs: 0,
      stopPs: Infinity,
    };
  });
  return {
    ...quiet,
    elements: quiet.elements.map((element) =>
      element.kind === 'ddr' ? { ...element, refresh: { ...element.refresh, mode: 'off' } } : element,
    ),
  };
}

function simulate(system: SystemSpec): Diary {
  const dram = new Map<number, { spec: DdrSpec; clock: Clock }>();
  const diary = new Diary(dram);
  const options = { seed: '1', replication: 1, warmupPs: 0, durationPs: 2 * BURSTS * THINK_PS, drainPs: 1e9 };
  const simulation = new Simulation(system, { ...options, probe: diary });
  diary.simulation = simulation;
  for (const { base } of simulation.model.elements) {
    const spec = system.elements.find((element) => element.name === base.name);
    if (spec?.kind !== 'ddr') continue;
    const { tckNumerator, tckDenominator } = spec.timing;
    dram.set(base.index, { spec, clock: new Clock('dram', tckNumerator, tckDenominator) });
  }
  simulation.run();
  for (const element of simulation.model.elements) {
    if (!(element instanceof DdrController)) continue;
    // closings of rows that time out on an idle channel are made up for on demand
    for (const channel of element.dram) channel.settle(options.durationPs);
  }
  return diary;
}

/** The lines that are in a cache, by what one master alone has done so far; far fewer than would push any out. */
class Touched {
  private readonly shared = new Set<number>();
  private readonly own = new Set<number>();

  constructor(
    private readonly unit: CoherenceSpec,
    private readonly core: boolean,
  ) {}

  /** What a core's access meets in its private cache. */
  inCore(address: number): boolean {
    return this.own.has(this.lines(address, 1)[0]!);
  }

  /** What every line of a burst meets; null where they differ. */
  met({ address, bytes }: Burst): IdleOutcome | null {
    const hits = this.lines(address, bytes).map((line) => this.shared.has(line));
    if (hits.every((hit) => hit)) return 'hit';
    return hits.some((hit) => hit) ? null : 'miss';
  }

  add({ write, address, bytes }: Burst): void {
    const { unit, core } = this;
    for (const line of this.lines(address, bytes)) {
      const whole = address <= line && address + bytes >= line + unit.lineBytes;
      const through = write && !whole && unit.partialWriteMiss === 'through';
      if (core) this.own.add(line);
      if (core || (!through && (write ? unit.portWriteAllocate : unit.portReadAllocate))) this.shared.add(line);
    }
  }

  private lines(address: number, bytes: number): number[] {
    const { lineBytes } = this.unit;
    const first = Math.floor(address / lineBytes) * lineBytes;
    const count = Math.floor((address + bytes - 1 - first) / lineBytes) + 1;
    return Array.from({ length: count }, (_, k) => first + k * lineBytes);
  }
}

interface Met {
  readonly lookup: string;
  readonly rows: string;
}

/** Compares every burst with U at its own instant, address and recorded states; answers the states that came up. */
function compare(system: SystemSpec, name: string, write: boolean, only?: number): Met[] {
  const diary = simulate(system);
  const master = system.masters.find((candidate) => candidate.name === name)!;
  const end = pathOf(system, master)!.at(-1)!;
  const unit = end.way === 'lookup' ? (end.element as CoherenceSpec) : null;
  const touched = unit === null ? null : new Touched(unit, master.core !== null);
  const met: Met[] = [];
  expect(diary.bursts.length).toBeGreaterThanOrEqual(BURSTS - 5);
  for (const burst of diary.bursts) {
    expect(burst.write).toBe(write);
    const lookups = touched === null ? 'miss' : touched.met(burst);
    const hitsOwn = master.core !== null && touched?.inCore(burst.address) === true;
    touched?.add(burst);
    // a request that was cut is not one burst in flight
    if (lookups === null || (only !== undefined && burst.bytes !== only)) continue;
    const { address, bytes, wantedPs, latencyPs, serviceDraw } = burst;
    const rowsSeen = new Set<string>();
    const rows = (channel: number, bank: number): number => {
      const row = diary.openRow(channel, bank, wantedPs);
      rowsSeen.add(row < 0 ? 'closed' : 'open');
      return row;
    };
    const state: IdleState = { rows, lookups, serviceDraw };
    const u =
      touched !== null && master.core !== null
        ? idleCoreLatency(system, master, hitsOwn ? 'hit' : write ? 'fetch_alone' : 'fetch', state, address, wantedPs)
        : (write ? unloadedWrite : unloadedRead)(idlePath(system, master, write, state), address, bytes, wantedPs);
    expect(latencyPs, `${bytes} bytes at ${address}, wanted at ${wantedPs}, lookup ${lookups}`).toBe(u.totalPs);
    expect(u.stages.reduce((sum, { fromPs, toPs }) => sum + toPs - fromPs, 0)).toBe(u.totalPs);
    met.push({ lookup: hitsOwn ? 'own' : lookups, rows: [...rowsSeen].toSorted().join(' ') });
  }
  return met;
}

/** The same system with the buffer of a master cut down, so that its lines are met again. */
function small(system: SystemSpec, name: string): SystemSpec {
  const { buffer } = system.masters.find((master) => master.name === name)!;
  return {
    ...system,
    buffers: system.buffers.map((spec) =>
      spec.name === buffer ? { ...spec, bytes: Math.min(spec.bytes, 2048) } : spec,
    ),
  };
}

function operationsOf(master: MasterSpec): { write: boolean; word: string }[] {
  const { reads, writes } = uses(master);
  return [...(reads ? [{ write: false, word: 'reads' }] : []), ...(writes ? [{ write: true, word: 'writes' }] : [])];
}

const scenarios = [
  ...shipped.map((file) => ({ file, scenario: read(file) })),
  { file: 'the second preset', scenario: parse(MOBILE) },
];

for (const { file, scenario } of scenarios) {
  for (const system of scenario.systems) {
    describe(`with one burst in flight, ${file} in placement ${system.placement} has latency U to the picosecond:`, () => {
      for (const master of system.masters) {
        test.each(operationsOf(master))(`${master.name} $word`, ({ write }) => {
          // no burst starts where it would be cut at a border of 4 KiB
          const scattered: PatternSpec = { pattern: 'random', alignBytes: burstOf(master) };
          const met = [
            ...compare(alone(system, master.name, write, null), master.name, write),
            ...compare(alone(system, master.name, write, scattered), master.name, write),
            ...compare(alone(small(system, master.name), master.name, write, scattered), master.name, write),
          ];
          // the comparison says something only where the states did come up
          const steps = pathOf(system, master)!;
          if (steps.at(-1)!.way === 'lookup') expect(met.map(({ lookup }) => lookup)).toContain('miss');
          if (steps.at(-1)!.element.kind === 'ddr' && !write) expect(met.map(({ rows }) => rows)).toContain('closed');
        });
      }
    });
  }
}

// Bursts that begin and end within lines and beats, of one line and of several. Not so long that two DRAM channels answer
// at once: whose line goes first on the way back is then the arbiter's choice, which U does not know.
const coherent = [
  { preset: 'eight-port-mobile', system: parse(MOBILE).systems[0]!, name: 'snooping' },
  { preset: 'quad-core-fabric', system: systemOf(read('grain-sorter.yaml'), 'coherent'), name: 'classifier_read' },
];

describe.each(coherent)(
  'with one burst in flight, the coherent port of $preset has latency U for',
  ({ system, name }) => {
    test.each([8, 48, 64, 200])('bursts of %d bytes that start anywhere', (bytes) => {
      const long = withMasters(system, (master) =>
        master.name === name ? { ...master, burstBeats: 64, size: { kind: 'fixed', value: bytes } } : master,
      );
      const anywhere: PatternSpec = { pattern: 'random', alignBytes: 4 };
      for (const write of [false, true]) {
        const met = [
          ...compare(alone(long, name, write, anywhere), name, write, bytes),
          ...compare(alone(small(long, name), name, write, anywhere), name, write, bytes),
        ];
        expect(met.map(({ lookup }) => lookup)).toContain('miss');
      }
    });
  },
);
