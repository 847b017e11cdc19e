import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import {
  IdleUnit,
  idleCoreAccess,
  type IdleAccess,
  type IdleMemory,
  type IdleOutcome,
} from '../../../src/model/coherence/unloaded.js';
import type { Leaving } from '../../../src/model/unloaded-lines.js';
import { inBeats, lastAt, sent, whole } from '../../../src/model/train.js';
import { clock, CYCLE, LINE, type Options, Script, UnitBench, unitSpec } from './unit-bench.js';

const READ_CYCLES = 10;
const WRITE_CYCLES = 13;

/** The bench's memory and its way back, in its own words: first beat after 10 cycles, one a cycle, one cycle back. */
function memory(): IdleMemory {
  const back = (write: boolean, lines: readonly Leaving[]): number[] => {
    let laneFree = 0;
    return lines.map(({ address, bytes, leavesPs }) => {
      const beats = write ? 1 : Math.ceil((address + bytes) / 16) - Math.floor(address / 16);
      const start = Math.max(leavesPs + (write ? WRITE_CYCLES : READ_CYCLES) * CYCLE, laneFree);
      laneFree = start + beats * CYCLE;
      return laneFree;
    });
  };
  return { fetch: (lines) => back(false, lines), send: (lines) => Math.max(...back(true, lines)) };
}

const options: Options = { readCycles: READ_CYCLES, writeCycles: WRITE_CYCLES, ports: ['a', 'warm'] };
const burst = fc.record({
  address: fc.integer({ min: 0, max: 6 * LINE }),
  bytes: fc.integer({ min: 1, max: 6 * LINE }),
  /** Start within a cycle, in ps. */
  phase: fc.nat(CYCLE),
  write: fc.boolean(),
  through: fc.boolean(),
  allocate: fc.boolean(),
});

function simulated(
  outcome: 'hit' | 'miss',
  b: { address: number; bytes: number; phase: number; write: boolean },
  spec: Options['spec'],
) {
  const bed = new UnitBench({ ...options, spec: { ...spec, l2: { ...unitSpec.l2, bytes: 64 * LINE } } });
  if (outcome === 'hit') for (let line = 0; line < 14; line++) bed.port('warm').write(line * 50, line * LINE);
  bed.run(2000);
  const start = 2000 * CYCLE + b.phase;
  bed.port('a')[b.write ? 'write' : 'read'](start / CYCLE, b.address, b.bytes);
  bed.run();
  return { startPs: start, donePs: bed.done.at(-1)!.lastPs };
}

describe('U of a visit to the unit', () => {
  for (const outcome of ['hit', 'miss'] as const) {
    test(`is what the simulation takes, to the picosecond, when every line is a ${outcome}`, () => {
      fc.assert(
        fc.property(burst, (b) => {
          const spec = {
            missEntries: 16,
            writebackSlots: 16,
            partialWriteMiss: b.through ? ('through' as const) : ('fetch' as const),
            portWriteAllocate: outcome === 'hit' || b.allocate,
          };
          const { startPs, donePs } = simulated(outcome, b, spec);
          const idle = new IdleUnit({ ...unitSpec, ...spec }, clock, outcome, memory());
          const expected = b.write
            ? clock.after(idle.write(inBeats(whole(b.address, b.bytes, startPs), 16)), 1)
            : lastAt(sent(idle.read(b.address, b.bytes, startPs), clock, 0, 1));
          expect(donePs).toBe(expected);
        }),
        { seed: 5, numRuns: 120 },
      );
    });
  }
});

describe('U of a core access', () => {
  // two clocks that share no edges but every 35th: 1.2 ns against 1 ns, synchronisers of 2
  const fast = new Clock('core', 2500, 3);
  const core = { clock: fast, hitCycles: 2, syncIn: 0, syncBack: 0, backwardCycles: 1 };
  const cases: {
    title: string;
    before: { core: number; write: boolean }[];
    outcome: IdleOutcome;
    write: boolean;
    access: IdleAccess;
  }[] = [
    {
      title: 'a hit in its own cache',
      before: [{ core: 0, write: false }],
      outcome: 'hit',
      write: true,
      access: 'hit',
    },
    { title: 'a miss everywhere', before: [], outcome: 'miss', write: false, access: 'fetch' },
    {
      title: 'a line that another core has alone',
      before: [{ core: 1, write: true }],
      outcome: 'owned',
      write: false,
      access: 'fetch',
    },
    {
      title: 'a store to a line that another core has alone',
      before: [{ core: 1, write: false }],
      outcome: 'owned',
      write: true,
      access: 'fetch_alone',
    },
    {
      title: 'a store to a line that two other cores share',
      before: [
        { core: 1, write: false },
        { core: 2, write: false },
      ],
      outcome: 'shared',
      write: true,
      access: 'fetch_alone',
    },
    {
      title: 'a load of a line that two other cores share',
      before: [
        { core: 1, write: false },
        { core: 2, write: false },
      ],
      outcome: 'shared',
      write: false,
      access: 'fetch',
    },
    {
      title: 'a store to a line that it shares',
      before: [
        { core: 0, write: false },
        { core: 1, write: false },
      ],
      outcome: 'shared',
      write: true,
      access: 'upgrade',
    },
  ];
  for (const { title, before, outcome, write, access } of cases) {
    test(`is what the simulation takes, to the picosecond: ${title}`, () => {
      for (const offset of [0, 1, 417, 500, 834, 999]) {
        const at = 1000 * CYCLE + offset;
        const scripts = [0, 1, 2].map((index) => [
          ...before.flatMap((step, k) =>
            step.core === index ? [{ write: step.write, line: 3, at: (k + 1) * 100 * CYCLE }] : [],
          ),
          ...(index === 0 ? [{ write, line: 3, at }] : []),
        ]);
        const bed = new UnitBench({
          readCycles: READ_CYCLES,
          cores: scripts.map((steps, index) => ({
            name: `c${index}`,
            clock: fast,
            process: 'trace' as const,
            source: new Script(steps.length > 0 ? steps : [{ line: 0, at: Infinity }]),
          })),
        });
        bed.run();
        const last = bed.log.accesses.at(-1)!;
        const idle = new IdleUnit(unitSpec, clock, outcome, memory());
        const unit = { name: 'unit', idle, clock, lineBytes: LINE };
        expect(last).toMatchObject({ master: 0, wantedPs: at, write });
        expect(last.donePs).toBe(idleCoreAccess(core, unit, access, 3 * LINE, at));
      }
    });
  }
});
