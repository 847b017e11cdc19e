import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import seedrandom from 'seedrandom';

/** Pending events that are tried. */
const PENDING = [16, 64, 256, 1024, 4096, 16_384] as const;
const HOLDS = 1_000_000;
const ROUNDS = 5;
/** Increments, a power of two. */
const INCREMENTS = 2 ** 16;

/** How far events are put off, in ps. */
const GRIDS = {
  /** Whole clock ticks of 1,250 ps, eight in the mean: many ties. */
  ticks: (u: number): number => 1250 * Math.ceil(-8 * Math.log(1 - u)),
  /** A grid of 1 ps, 10 ns in the mean. */
  picoseconds: (u: number): number => Math.ceil(-10_000 * Math.log(1 - u)) + 1,
} as const;

/** What a hold costs with so many pending, ours and as compiled from C++ (null where there is no compiler). */
export interface Holds {
  readonly grid: keyof typeof GRIDS;
  readonly pending: number;
  readonly ours_ns: number;
  readonly cpp_ns: number | null;
}

/**
 * The hold model (pop the earliest event, push it back later) on our event list, and the same loop on
 * `std::priority_queue` compiled with -O3. Both must handle the events in the same order.
 */
export function yardstick(flags: readonly string[], tell: (holds: Holds) => void): Holds[] {
  const folder = mkdtempSync(join(tmpdir(), 'burstyard-hold-'));
  try {
    const program = compiled(folder);
    const all: Holds[] = [];
    for (const grid of Object.keys(GRIDS) as (keyof typeof GRIDS)[]) {
      const file = join(folder, grid);
      writeFileSync(file, new Uint8Array(increments(grid).buffer));
      for (const pending of PENDING) {
        const holds = { grid, pending, ...measured(file, pending, program, flags) };
        tell(holds);
        all.push(holds);
      }
    }
    return all;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function increments(grid: keyof typeof GRIDS): Float64Array {
  const random = seedrandom.xor4096(`hold/${grid}`);
  return Float64Array.from({ length: INCREMENTS }, () => GRIDS[grid](random.double()));
}

/** The program of hold.cpp, or null where there is no compiler. */
function compiled(folder: string): string | null {
  const program = join(folder, 'hold');
  try {
    execFileSync('g++', ['-O3', '-march=native', '-o', program, pathOf('hold.cpp')], { stdio: 'ignore' });
    return program;
  } catch {
    return null;
  }
}

function measured(file: string, pending: number, program: string | null, flags: readonly string[]) {
  const args = [file, String(pending), String(HOLDS), String(ROUNDS)];
  const ours = answerOf(process.execPath, [...flags, pathOf('hold.mjs'), ...args]);
  const theirs = program === null ? null : answerOf(program, args);
  if (theirs !== null && theirs.checksum !== ours.checksum) throw new Error(`${pending} pending: two orders of events`);
  return { ours_ns: ours.ns, cpp_ns: theirs?.ns ?? null };
}

const pathOf = (name: string): string => fileURLToPath(new URL(name, import.meta.url));

const answerOf = (program: string, args: readonly string[]): { ns: number; checksum: number } =>
  JSON.parse(execFileSync(program, args, { encoding: 'utf8' })) as { ns: number; checksum: number };
