import fc from 'fast-check';
import { arbitration } from './arbitration.js';
import { clockNumber, width } from './elements.js';
import { bits, bytes, cycles, ns, type Tree } from './tree.js';

/** A grade, a bus and a density that go together, and for refresh of single banks the shortest interval that leaves time. */
interface Chips {
  readonly grade: string;
  readonly bus: number;
  readonly density: string;
  readonly perBank: boolean;
}

const chips = (
  grades: readonly string[],
  buses: readonly number[],
  densities: readonly number[],
  perBank = false,
): Chips[] =>
  grades.flatMap((grade) =>
    buses.flatMap((bus) => densities.map((density) => ({ grade, bus, density: `${density} Gbit`, perBank }))),
  );

/** By family, so that each is as likely. */
const FAMILIES: readonly (readonly Chips[])[] = [
  chips(['DDR3-1600K', 'DDR3-1066F', 'DDR3-1866M-x8'], [32, 16, 64], [4, 1]),
  chips(['DDR2-800D', 'DDR2-800E-x8'], [32, 16], [1, 4]),
  chips(['DDR4-2400T', 'DDR4-2133P-x8', 'DDR4-3200AA-x16'], [32, 64, 16], [4, 16]),
  chips(['LPDDR2-800-S4'], [32, 64], [4, 1, 8], true),
  chips(['LPDDR4-3200'], [16, 32], [4, 16], true),
  chips(['LPDDR4X-4266'], [16, 32], [8, 2], true),
];

const MAPPINGS = [
  ['row', 'rank', 'bank', 'bankgroup', 'column'],
  ['row', 'bank', 'column', 'bankgroup', 'rank'],
  ['rank', 'bank', 'bankgroup', 'row', 'column'],
  ['row', 'column', 'bank', 'bankgroup', 'rank'],
  ['row', { column: 3 }, 'rank', 'bank', 'bankgroup', 'column'],
] as const;

const marks = fc.record({
  write_entries: fc.integer({ min: 1, max: 20 }),
  high: fc.integer({ min: 1, max: 20 }),
  low: fc.nat(20),
});

interface Refresh {
  readonly mode: 'all_bank' | 'per_bank' | 'off';
  readonly postpone: number;
  readonly interval: number;
}

/** The standards' intervals are long beside the runs here, so most platforms refresh more often than they must. */
const refresh: fc.Arbitrary<Refresh> = fc.record({
  mode: fc.constantFrom('all_bank', 'per_bank', 'off'),
  postpone: fc.constantFrom(0, 1, 3, 8),
  interval: fc.constantFrom(0, 900, 1500, 2500),
});

/** Per bank the interval is divided by the banks, each of which is then busy for up to 190 ns. */
function refreshKeys(draw: Refresh, { perBank }: Chips): { refresh: Tree | string; timing?: Tree } {
  const mode = draw.mode === 'per_bank' && !perBank ? 'all_bank' : draw.mode;
  if (mode === 'off') return { refresh: mode };
  const interval = mode === 'per_bank' ? draw.interval * 2 : draw.interval;
  const keys = { refresh: { mode, postpone: draw.postpone } };
  return interval === 0 ? keys : { ...keys, timing: { tREFI: ns(interval) } };
}

/** A DRAM controller. */
export const ddr = fc.record({
  clock: clockNumber,
  arbitration,
  keys: fc
    .record({
      chips: fc.oneof(...FAMILIES.map((family) => fc.constantFrom(...family))),
      refresh,
      marks,
      channels: fc.constantFrom(1, 1, 2, 3),
      mapping: fc.constantFrom(...MAPPINGS),
      mapsChannel: fc.constantFrom(false, false, true),
      rest: fc.record({
        width: width.map(bits),
        sync: fc.nat(3).map(cycles),
        ranks: fc.constantFrom(1, 2),
        interleave: fc.constantFrom(256, 512).map(bytes),
        bank_hash: fc.constantFrom('no', 'yes'),
        front: fc.nat(6).map(cycles),
        return: fc.nat(5).map(cycles),
        phy: fc.record({
          command: fc.nat(4).map((count) => `${count} clocks`),
          data: fc.nat(4).map((count) => `${count} clocks`),
        }),
        queue_depth: fc.integer({ min: 1, max: 6 }),
        read_entries: fc.integer({ min: 1, max: 20 }),
        min_drain: fc.integer({ min: 1, max: 6 }),
        grain: fc.constantFrom(64, 32, 256).map(bytes),
        scheduler: fc.constantFrom('out_of_order', 'out_of_order', 'in_order'),
        activate_first: fc.constantFrom('no', 'yes'),
        lookahead: fc.integer({ min: 1, max: 10 }),
        cap: fc.constantFrom(500, 0, 100).map(ns),
        page: fc.oneof(
          fc.constantFrom('open', 'closed'),
          fc.integer({ min: 0, max: 300 }).map((idle) => ({ timeout: idle === 0 ? '1 ps' : ns(idle) })),
        ),
      }),
    })
    .map(
      ({ chips: part, refresh: drawn, marks: { write_entries, high, low }, channels, mapping, mapsChannel, rest }) => {
        const highMark = Math.min(high, write_entries);
        const named = mapsChannel && channels === 2;
        return {
          kind: 'ddr',
          grade: part.grade,
          bus: bits(part.bus),
          density: part.density,
          channels,
          mapping: named ? [mapping[0], 'channel', ...mapping.slice(1)] : [...mapping],
          write_entries,
          high_mark: highMark,
          low_mark: Math.min(low, highMark - 1),
          ...refreshKeys(drawn, part),
          ...rest,
        };
      },
    ),
});
