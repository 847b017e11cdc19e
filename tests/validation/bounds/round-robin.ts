import seedrandom from 'seedrandom';
import { roundRobin } from '../../model/platform.js';
import type { Comparison, Depth } from '../outside-check.js';
import { type ReferenceRow, rowsBy } from '../reference-table.js';
import { boundChecks, given, largest, rowsOf } from './bounded.js';
import { type Resource, serve, type Served, type Source, type Want } from './served.js';

/**
 * Masters of bounded bursts at a round robin. An output has no overhead of its own between bursts, so that the overhead of
 * the rows is carried as that many more beats at the front of each burst.
 */

const RESOURCES: readonly Resource[] = ['memory', 'switch data'];
const SEEDS = { quick: 5, full: 60 };
const RANDOM_CYCLES = 4000;
const SATURATED_ROUNDS = 30;

/**
 * Share of the bound that is reached behind own bursts: all would have to arrive at one instant, but addresses come a cycle
 * apart. At the head of its queue a burst waits for the whole of a round.
 */
const NEAR = 0.97;

/** Every row of every round robin, at both resources. */
export function roundRobinChecks(depth: Depth): Comparison[] {
  return [...rowsBy(rowsOf('round_robin'), 'bound_id').values()].flatMap((rows) => {
    const overhead = given(rows[0]!, 'overhead_per_grant');
    const lengths = rows[0]!
      .parameter('params', 'bursts_max')!
      .split('|')
      .map((text) => Number(text) + overhead);
    return RESOURCES.flatMap((resource) => {
      const served = allServed(resource, lengths, overhead, depth);
      return rows.flatMap((row) => rowChecks(row, resource, served, overhead));
    });
  });
}

function rowChecks(row: ReferenceRow, where: Resource, served: readonly Served[][], overhead: number): Comparison[] {
  const own = served[Number(row.text('subject').replace('master', '')) - 1]!;
  switch (row.text('metric')) {
    case 'head_to_start':
      return boundChecks(row, {
        where,
        most: largest(own.map(({ head, start }) => start + overhead - head)),
        factor: 1,
      });
    case 'head_to_finish':
      return boundChecks(row, { where, most: largest(own.map(({ head, end }) => end - head)), factor: 1 });
    default: {
      const behind = given(row, 'own_requests_ahead');
      const such = own.filter(({ ahead }) => ahead === behind);
      const most = largest(such.map(({ arrival, end }) => end - arrival));
      return boundChecks(row, { where, most, factor: NEAR });
    }
  }
}

/** By master: its bursts under every load. */
function allServed(resource: Resource, lengths: readonly number[], overhead: number, depth: Depth): Served[][] {
  const round = lengths.reduce((sum, beats) => sum + beats, 0);
  const saturated = lengths.map((beats): Source => ({ greedy: { beats, outstanding: 4 } }));
  const loads = [
    serve(resource, roundRobin, saturated, SATURATED_ROUNDS * round),
    ...lengths.flatMap((beats, subject) =>
      [2, 4].map((size) => {
        const { source, cycles } = groups(size, beats, round - beats);
        const sources = saturated.map((other, i) => (i === subject ? source : other));
        return serve(resource, roundRobin, sources, cycles);
      }),
    ),
    ...Array.from({ length: SEEDS[depth] }, (_, seed) =>
      serve(resource, roundRobin, randomSources(lengths, overhead, `round robin ${seed}`), RANDOM_CYCLES),
    ),
  ];
  return lengths.map((_, i) => loads.flatMap((load) => load[i]!));
}

/**
 * So many bursts at once, again and again, each time a cycle later in the others' turns: one of them comes just too late for
 * its own. `others` is how long a round of the others takes.
 */
function groups(size: number, beats: number, others: number): { source: Source; cycles: number } {
  const rounds = Math.ceil(((size + 2) * (others + beats)) / others);
  const distance = size * beats + rounds * others + 1;
  const wants = Array.from({ length: others + 1 }, (_, turn) =>
    Array.from({ length: size }, (): Want => ({ at: turn * distance, beats })),
  );
  return { source: { wants: wants.flat() }, cycles: (others + 1) * distance };
}

/** Bursts of any length up to the largest, at any pace up to more than all. */
function randomSources(lengths: readonly number[], overhead: number, seed: string): Source[] {
  const random = seedrandom.xor4096(seed);
  return lengths.map((most) => {
    const pause = [0, 1, 3, 8][Math.floor(random() * 4)]! * most * lengths.length;
    const wants: Want[] = [];
    for (let at = 0; at < RANDOM_CYCLES && wants.length < 400; at += Math.floor(-Math.log1p(-random()) * pause)) {
      const beats = random() < 0.5 ? most : overhead + 1 + Math.floor(random() * (most - overhead));
      wants.push({ at, beats });
    }
    return { wants };
  });
}
