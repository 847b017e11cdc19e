import { commonWarmupPs, hyperperiodPs } from '../measure/statistics/warmup.js';
import type { SystemSpec, TaskSpec } from '../scenario/scenario.js';
import { taskPeriodPs } from '../scenario/task-pace.js';
import { type Pilot, settle, type Settled } from './pilot.js';

/**
 * The pilot's first length, in windows, and how often it is made longer before a study is called not settled: each time to
 * the double, or to what the caches need up to a last limit.
 */
const FIRST_PILOT_WINDOWS = 2;
const LONGEST_PILOT_WINDOWS = 32;
const TURNS = 2;

/** The warm-up of a study, and whether the pilot found that everything had settled by then. */
export interface WarmUp {
  readonly warmupPs: number;
  readonly settled: boolean;
}

/**
 * One warm-up for all placements: as stated, or found by MSER-5 on a pilot replication (number 0, then discarded) of each;
 * never less than it takes to fill the caches (`fillingPs`) or than one walk of a buffer that an open source or a task walks in order,
 * or two periods of the slowest task,
 * and a whole number of hyperperiods of the periodic sources. A pilot that has not settled by its half is lengthened; at
 * last its half is taken, and said to be unsettled.
 *
 * @param run simulates the pilots and answers in their order
 */
export async function warmUpOf(
  systems: readonly SystemSpec[],
  seed: string,
  run: (pilots: readonly Pilot[]) => Promise<readonly Settled[]>,
): Promise<WarmUp> {
  const search = searching(systems);
  let next = search.next([]);
  while (next.done !== true) next = search.next(await run(pilotsOf(systems, seed, next.value)));
  return next.value;
}

/** The same on this thread, for who cannot wait. */
export function warmUpNow(systems: readonly SystemSpec[], seed: string): WarmUp {
  const search = searching(systems);
  let next = search.next([]);
  while (next.done !== true) next = search.next(pilotsOf(systems, seed, next.value).map(settle));
  return next.value;
}

const pilotsOf = (systems: readonly SystemSpec[], seed: string, lengthPs: number): Pilot[] =>
  systems.map((system) => ({ system, seed, lengthPs }));

/** Asks for pilots of a length until it knows, and is told what they brought. */
function* searching(systems: readonly SystemSpec[]): Generator<number, WarmUp, readonly Settled[]> {
  const stated = systems[0]!.run.warmupPs;
  if (stated !== null) return { warmupPs: stated, settled: true };
  const { durationPs } = systems[0]!.run;
  const walkedPs = Math.max(...systems.map(walkPs));
  let pilotPs = Math.max(FIRST_PILOT_WINDOWS * durationPs, 2 * walkedPs);
  const longestPs = Math.max(LONGEST_PILOT_WINDOWS * durationPs, 2 ** TURNS * pilotPs);
  for (let turn = 0; ; turn++) {
    const pilots = yield pilotPs;
    const settledPs = pilots.flatMap((one) => one.settledPs);
    const atLeastPs = Math.max(walkedPs, ...pilots.map(({ filledPs }) => filledPs));
    const hyperperiod = hyperperiodPs(systems.flatMap(periodsOf), pilotPs / 4);
    const found = commonWarmupPs({ settledPs, atLeastPs, hyperperiodPs: hyperperiod, pilotPs });
    if (found !== null) return { warmupPs: found, settled: true };
    if (turn === TURNS || pilotPs >= longestPs) return { warmupPs: Math.floor(pilotPs / 2), settled: false };
    // a little more than twice what is needed, as the rate of the longer pilot is another
    pilotPs = Math.min(longestPs, Math.max(2 * pilotPs, Math.ceil(2.5 * atLeastPs)));
  }
}

/** The longest time in which an open source walks its buffer once, if it walks; 0 if none does. */
function walkPs(system: SystemSpec): number {
  const walks = system.masters.map(({ issue, buffer, pattern }) => {
    if (pattern.pattern !== 'sequential' && pattern.pattern !== 'strided') return 0;
    const { bytes } = system.buffers.find((candidate) => candidate.name === buffer)!;
    if (issue.process === 'periodic') return Math.ceil(bytes / issue.blockBytes) * issue.everyPs;
    if ((issue.process === 'steady' || issue.process === 'poisson') && issue.pace.kind === 'rate') {
      return Math.ceil((bytes * 1e12) / issue.pace.bytesPerS);
    }
    return 0;
  });
  return Math.max(0, ...walks, ...system.tasks.map((task) => taskWalkPs(system, task)));
}

/** Two periods of a task, or as many as it takes to have worked in every place of what it goes round in. */
function taskWalkPs({ tasks }: SystemSpec, task: TaskSpec): number {
  const rounds = task.steps.map((step) => ('part' in step ? step.part.places : 1));
  return Math.max(2, ...rounds) * taskPeriodPs(tasks, task);
}

function periodsOf(system: SystemSpec): number[] {
  const all = [...system.masters.map(({ issue }) => issue), ...system.tasks.map(({ trigger }) => trigger)];
  return all.flatMap((one) => (one.process === 'periodic' ? [one.everyPs] : []));
}
