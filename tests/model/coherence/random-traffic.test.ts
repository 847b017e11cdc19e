import fc from 'fast-check';
import seedrandom from 'seedrandom';
import { expect, test } from 'vitest';
import { LineState } from '../../../src/model/coherence/tag-store.js';
import type { Replacement } from '../../../src/scenario/scenario.js';
import { CYCLE, LINE, type Options, Script, UnitBench } from './unit-bench.js';

// Few lines, small caches, scarce miss entries and slots: every race that the unit can have turns up.
interface Setup {
  seed: number;
  cores: number;
  ports: number;
  lines: number;
  inclusive: boolean;
  replacement: Replacement;
  l2Lines: number;
  entries: number;
  slots: number;
  parallelism: number;
  allocate: [boolean, boolean];
  through: boolean;
  model: 'structural' | 'statistical';
}

const setups = fc.record({
  seed: fc.nat(1_000_000),
  cores: fc.integer({ min: 0, max: 3 }),
  ports: fc.integer({ min: 1, max: 2 }),
  lines: fc.integer({ min: 2, max: 40 }),
  inclusive: fc.boolean(),
  replacement: fc.constantFrom<Replacement>('lru', 'tree_plru', 'fifo', 'random'),
  l2Lines: fc.constantFrom(2, 8, 16),
  entries: fc.integer({ min: 1, max: 8 }),
  slots: fc.integer({ min: 1, max: 3 }),
  parallelism: fc.integer({ min: 1, max: 4 }),
  allocate: fc.tuple(fc.boolean(), fc.boolean()),
  through: fc.boolean(),
  model: fc.constantFrom<Setup['model']>('structural', 'structural', 'structural', 'statistical'),
});

const ACCESSES = 120;

function bedOf(setup: Setup, shuffle?: () => number): UnitBench {
  const random = seedrandom.xor4096(`traffic ${setup.seed}`);
  const below = (n: number): number => Math.floor(random() * n);
  const l2 = {
    bytes: setup.l2Lines * LINE,
    ways: Math.min(4, setup.l2Lines),
    replacement: setup.replacement,
    inclusive: setup.inclusive,
  };
  const options: Options = {
    spec: {
      l2,
      model: setup.model,
      dirtyShare: 0.4,
      missEntries: setup.entries,
      writebackSlots: setup.slots,
      partialWriteMiss: setup.through ? 'through' : 'fetch',
      portReadAllocate: setup.allocate[0],
      portWriteAllocate: setup.allocate[1],
    },
    ports: Array.from({ length: setup.ports }, (_, i) => `p${i}`),
    cores: Array.from({ length: setup.cores }, (_, i) => ({
      name: `c${i}`,
      parallelism: setup.parallelism,
      l1: { bytes: 4 * LINE, ways: 2 },
      source: new Script(
        Array.from({ length: ACCESSES }, () => ({
          write: random() < 0.4,
          line: below(setup.lines),
          bytes: 1 + below(130),
        })),
      ),
    })),
    readCycles: 5 + below(30),
    writeCycles: 5 + below(80),
  };
  const bed = new UnitBench(shuffle === undefined ? options : { ...options, shuffle });
  for (const port of bed.ports.values()) {
    let cycle = 0;
    for (let k = 0; k < ACCESSES; k++) {
      cycle += below(25);
      const address = below(setup.lines * LINE);
      const whole = random() < 0.5;
      const at = whole ? Math.floor(address / LINE) * LINE : address;
      const bytes = whole ? LINE * (1 + below(3)) : 1 + below(100);
      if (random() < 0.5) port.read(cycle, at, bytes);
      else port.write(cycle, at, bytes);
    }
  }
  return bed;
}

/** What must hold at every instant: a private copy is in an inclusive L2 too; who may write a line holds it alone. */
function checkInvariants(bed: UnitBench): void {
  if (bed.unit.spec.model !== 'structural') return;
  const { l2, directory } = bed.structural;
  const holders = new Map<number, { core: number; state: number }[]>();
  for (const [core, { cache }] of bed.cores.entries()) {
    for (const { line, state } of cache.tags.entries()) {
      if (state === LineState.pending) continue;
      holders.set(line, [...(holders.get(line) ?? []), { core, state }]);
      expect(directory.holds(line, core)).toBe(true);
      if (bed.unit.spec.l2.inclusive) expect(l2.find(line)).toBeGreaterThanOrEqual(0);
    }
  }
  for (const [line, copies] of holders) {
    const owners = copies.filter(({ state }) => state !== LineState.shared);
    if (owners.length === 0) continue;
    expect(copies).toHaveLength(1);
    expect(directory.owner(line)).toBe(owners[0]!.core);
  }
  expect(bed.unit.buffer.length).toBeLessThanOrEqual(bed.unit.spec.writebackSlots);
}

/** The newest data of every line that was written is in a cache, or was sent to memory after the write began. */
function checkNothingLost(bed: UnitBench): void {
  if (bed.unit.spec.model !== 'structural') return;
  const written = new Map<number, number>();
  const note = (address: number, bytes: number, atPs: number): void => {
    for (let line = Math.floor(address / LINE); line * LINE < address + bytes; line++) {
      written.set(line, Math.max(atPs, written.get(line) ?? 0));
    }
  };
  for (const { write, address, wantedPs } of bed.log.accesses) if (write) note(address, 1, wantedPs);
  for (const [line, atPs] of written) {
    if (bed.unit.model.isDirty(line)) continue;
    const sent = bed.memory.log.filter(
      ({ op, address, bytes }) => op === 'write' && address < (line + 1) * LINE && address + bytes > line * LINE,
    );
    expect(sent.at(-1)?.atPs ?? -1).toBeGreaterThanOrEqual(atPs);
  }
}

const outcome = (bed: UnitBench) => ({
  done: bed.done.toSorted(
    (a, b) => a.lastPs - b.lastPs || (a.port < b.port ? -1 : a.port > b.port ? 1 : 0) || (a.op < b.op ? -1 : 1),
  ),
  accesses: bed.log.accesses.toSorted((a, b) => a.donePs - b.donePs || a.master - b.master || a.address - b.address),
  memory: bed.memory.log,
  counts: bed.system.masters.map((_, master) => bed.unit.counts.of(master)),
  l1: bed.cores.map(({ counts }, master) => counts.of(master)),
});

test('on random traffic every access completes, copies stay coherent and no changed data is lost', () => {
  fc.assert(
    fc.property(setups, (setup) => {
      const bed = bedOf(setup);
      for (let cycles = 20; !bed.context.calendar.empty || cycles === 20; cycles += 11) {
        bed.run(cycles);
        checkInvariants(bed);
        if (cycles > 200_000) break;
      }
      expect(bed.done).toHaveLength(setup.ports * ACCESSES);
      expect(bed.context.bursts.inFlight).toBe(0);
      expect(bed.context.tally.counted).toBe(0);
      expect(bed.unit.misses.inUse).toBe(0);
      for (const [master] of bed.system.masters.entries()) {
        const { lookups, hits, misses, merged } = bed.unit.counts.of(master);
        expect(lookups).toBe(hits + misses + merged);
      }
      if (bed.unit.spec.model === 'structural') {
        expect(bed.structural.l2.pins.every((pins) => pins === 0)).toBe(true);
        expect(bed.cores.every(({ cache }) => cache.tags.pins.every((pins) => pins === 0))).toBe(true);
      }
      checkNothingLost(bed);
    }),
    { seed: 20_31, numRuns: 60 },
  );
}, 60_000);

test('the order of events within a phase changes nothing', () => {
  fc.assert(
    fc.property(setups, (setup) => {
      const plain = outcome(bedOf(setup).run());
      for (const seed of ['x', 'y']) {
        expect(outcome(bedOf(setup, seedrandom.xor4096(seed)).run())).toEqual(plain);
      }
    }),
    { seed: 77, numRuns: 25 },
  );
}, 60_000);

test('what a core does is the same whether its hits run ahead or each has an event', () => {
  const run = (busy: boolean): UnitBench => {
    const steps = Array.from({ length: 400 }, (_, k) => ({ write: k % 3 === 0, line: (k * 7) % 4 }));
    const bed = new UnitBench({ ports: ['a'], cores: [{ name: 'c0', source: new Script(steps) }] });
    // a requester that misses lines of its own, so that something happens in almost every cycle
    if (busy) for (let k = 0; k < 300; k++) bed.port('a').read(400 + 4 * k, (8 + (k % 2)) * LINE, 16);
    return bed.run();
  };
  const ahead = run(false);
  const stepped = run(true);
  expect(stepped.context.calendar.handled).toBeGreaterThan(4 * ahead.context.calendar.handled);
  expect(stepped.log.accesses.filter(({ master }) => master === 0)).toEqual(ahead.log.accesses);
  expect(ahead.log.accesses.at(-1)!.donePs).toBeGreaterThan(700 * CYCLE);
});
