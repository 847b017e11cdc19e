import seedrandom from 'seedrandom';
import type { ArbitrationSpec } from '../../../src/scenario/scenario.js';
import { roundRobin } from '../../model/platform.js';
import type { Comparison, Depth } from '../outside-check.js';
import { type ReferenceRow, rowsBy } from '../reference-table.js';
import { boundChecks, largest, rowsOf } from './bounded.js';
import type { Periodic } from './formulas.js';
import { inputOf, type Resource, serve, type Served, type Source, type Want } from './served.js';

/** Periodic and sporadic masters under fixed priority, nonpreemptive, the first of them the most urgent. */

const RESOURCES: readonly Resource[] = ['memory', 'switch data'];
const SEEDS = { quick: 10, full: 200 };
const CYCLES = 2400;

/** Every row of every set of masters, at both resources: each bound is reached exactly. */
export function fixedPriorityChecks(depth: Depth): Comparison[] {
  return [...rowsBy(rowsOf('fixed_priority_nonpreemptive'), 'bound_id').values()].flatMap((rows) => {
    const masters = mastersOf(rows[0]!);
    return RESOURCES.flatMap((where) =>
      rows.flatMap((row) => {
        const subject = Number(row.text('subject').replace('master', '')) - 1;
        const blocking = row.text('metric') === 'blocking';
        const most = blocking
          ? longestBlocking(where, masters, subject)
          : longestResponse(where, masters, subject, depth);
        return boundChecks(row, { where, most, factor: 1 });
      }),
    );
  });
}

/** `C8/T40|C16/T80`: 8 beats every 40 cycles, and 16 every 80. */
export function mastersOf(row: ReferenceRow): Periodic[] {
  return row
    .parameter('params', 'masters')!
    .split('|')
    .map((text) => {
      const [, beats, gap] = /^C(\d+)\/T(\d+)$/.exec(text)!;
      return { beats: Number(beats), gap: Number(gap) };
    });
}

function longestResponse(where: Resource, masters: readonly Periodic[], subject: number, depth: Depth): number {
  const worst = serveAll(where, criticalInstant(masters, subject))[subject]!;
  const random = Array.from({ length: SEEDS[depth] }, (_, seed) => {
    const draw = seedrandom.xor4096(`fixed priority ${seed}`);
    return serveAll(
      where,
      masters.map((one) => sporadic(one, draw)),
    )[subject]!;
  });
  return largest([...worst, ...random.flat()].map(({ arrival, end }) => end - arrival));
}

/** How long the subject can wait for bursts of lower priority, with none of higher priority about. */
function longestBlocking(where: Resource, masters: readonly Periodic[], subject: number): number {
  const sources = criticalInstant(masters, subject).map((source, i) => (i < subject ? {} : source));
  return largest(serveAll(where, sources)[subject]!.map(({ head, start }) => start - head));
}

/**
 * The longest burst of lower priority has begun a cycle before the subject and all of higher priority want theirs, again and
 * again as fast as they may. The others of lower priority stay away.
 */
function criticalInstant(masters: readonly Periodic[], subject: number): Source[] {
  const below = masters.slice(subject + 1).map(({ beats }) => beats);
  const longest = below.length === 0 ? -1 : subject + 1 + below.indexOf(Math.max(...below));
  return masters.map((one, i) => {
    if (i <= subject) return { wants: periodic(one, 1) };
    return i === longest ? { wants: [{ at: 0, beats: one.beats }] } : {};
  });
}

function periodic({ beats, gap }: Periodic, offset: number): Want[] {
  return Array.from({ length: Math.ceil((CYCLES - offset) / gap) }, (_, n) => ({ at: offset + n * gap, beats }));
}

/** At any offset, as fast as it may or with a pause before some bursts, some of them shorter. */
function sporadic({ beats, gap }: Periodic, draw: () => number): Source {
  const below = (n: number): number => Math.floor(draw() * n);
  const lax = below(3) === 0;
  const wants: Want[] = [];
  for (let at = below(gap); at < CYCLES; at += gap + (lax && below(3) === 0 ? below(gap) : 0)) {
    wants.push({ at, beats: lax && below(4) === 0 ? 1 + below(beats) : beats });
  }
  return { wants };
}

function serveAll(where: Resource, sources: readonly Source[]): Served[][] {
  const priority = sources.map((_, i) => inputOf(i));
  const arbitration: ArbitrationSpec = { ...roundRobin, policy: 'fixed_priority', priority };
  return serve(where, arbitration, sources, CYCLES);
}
