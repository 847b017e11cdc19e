import fc from 'fast-check';
import seedrandom from 'seedrandom';
import type { Replacement } from '../../../src/scenario/scenario.js';
import { LINE, type Options, Script, UnitBench } from './unit-bench.js';

// Few lines, small caches, scarce miss entries and slots: every race that the unit can have turns up.
/** A unit under random traffic. */
export interface Setup {
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

export const setups = fc.record({
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

/** Accesses of each core, and of each port. */
export const ACCESSES = 120;

/** The unit, its cores and ports with all that they will ask for. */
export function bedOf(setup: Setup, shuffle?: () => number): UnitBench {
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
