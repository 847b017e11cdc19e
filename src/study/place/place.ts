import type { PlaceRow } from '../../measure/tables/rows.js';
import { mastersNamed } from '../../scenario/check-place.js';
import type { Attachment } from '../../scenario/layers.js';
import type { Assigned } from '../../scenario/read.js';
import type { PlaceSpec, SystemSpec } from '../../scenario/scenario.js';
import { ScenarioError } from '../../errors.js';
import { Alone, type Crew } from '../crew.js';
import { lean } from '../lean.js';
import { warmUpOf } from '../warm-up.js';
import { type AssignmentClass, assignmentClasses, assignmentsOf } from './assignments.js';
import type { Candidate } from './candidate.js';
import { portClasses } from './port-classes.js';
import { screen } from './screen.js';
import { PlaceRows } from './rows.js';
import { search } from './search.js';

export interface PlaceOptions {
  /** Name of the scenario, for the rows. */
  readonly scenario: string;
  readonly seed?: string;
  /** At full length, instead of run.replications. */
  readonly replications?: number;
  /** Tries all at full length, however many there are. */
  readonly whole?: boolean;
  /** Told now and then how much of the most that may be spent is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  /** Who simulates; this thread where nobody is named. */
  readonly crew?: Crew;
}

/** What was simulated, and what trying all would have taken. Pilots are not counted: both would need them. */
export interface Spending {
  readonly replications: number;
  readonly simulatedPs: number;
  /** All classes that were simulated at all, each at full length, by how long their replications were. */
  readonly wholeReplications: number;
  readonly wholePs: number;
}

/** A finished search. */
export interface PlaceResult {
  readonly scenario: string;
  readonly seed: string;
  /** The best first, then as ranked, then what was ruled out. */
  readonly rows: readonly PlaceRow[];
  /** Identical elements, where there are several. */
  readonly identical: readonly (readonly string[])[];
  /** With those that differ by identical ports only. */
  readonly assignments: number;
  /** Was everything tried at full length? */
  readonly whole: boolean;
  /** Replications of one assignment at full length. */
  readonly length: number;
  readonly windowPs: number;
  /** Null when it was found not to settle. */
  readonly warmupPs: number | null;
  readonly spending: Spending;
}

/** Pilots are run on so many of the candidates, evenly spread: the warm-up is one for all. */
const PILOTS = 8;

/** Finds the assignments that meet all budgets and ranks them; `read` gives the system of an assignment. */
export async function findPlacement(
  place: PlaceSpec,
  read: (attachment: Attachment) => Assigned,
  options: PlaceOptions,
): Promise<PlaceResult> {
  const base = firstSystem(place, read);
  const seed = options.seed ?? base.run.seed;
  const length = options.replications ?? base.run.replications;
  const ports = portClasses(base, [...new Set([...place.mayAttach.values()].flat())], {
    moved: new Set([...place.mayAttach.keys()].flatMap((name) => mastersNamed(base.masters, name))),
    goal: place.best,
  });
  const classes = assignmentClasses(place, ports);
  const rows = new PlaceRows(place, ports, options.scenario, base.placement);
  const candidates = screened(classes, read, rows);
  const crew = options.crew ?? new Alone();
  const spreadSystems = spread(candidates).map(({ system }) => system);
  const warmUp = candidates.length === 0 ? null : await warmUpOf(spreadSystems, seed, (pilots) => crew.settle(pilots));
  const found = await search(candidates, {
    goal: place.best,
    seed,
    warmupPs: warmUp?.warmupPs ?? 0,
    length,
    crew,
    whole: options.whole ?? false,
    ...(options.onProgress === undefined ? {} : { onProgress: options.onProgress }),
  });
  return {
    scenario: options.scenario,
    seed,
    rows: [...rows.ofSearch(candidates, found), ...rows.ruledOut],
    identical: ports.filter((names) => names.length > 1),
    assignments: classes.reduce((sum, { assignments }) => sum + assignments, 0),
    whole: found.whole,
    length,
    windowPs: base.run.durationPs,
    warmupPs: warmUp?.settled === true ? warmUp.warmupPs : null,
    spending: spendingOf(candidates, length),
  };
}

/** The first assignment that is a system: it tells what the platform is. */
function firstSystem(place: PlaceSpec, read: (attachment: Attachment) => Assigned): SystemSpec {
  let first: Assigned | undefined;
  for (const attachment of assignmentsOf(place)) {
    const assigned = read(attachment);
    if ('system' in assigned) return assigned.system;
    first ??= assigned;
  }
  if (first === undefined) assignmentClasses(place, []);
  throw new ScenarioError(first !== undefined && 'problems' in first ? first.problems : []);
}

function screened(
  classes: readonly AssignmentClass[],
  read: (attachment: Attachment) => Assigned,
  rows: PlaceRows,
): Candidate[] {
  return classes.flatMap((own) => {
    const result = screen(read(own.attachment));
    if ('system' in result) return [{ ...own, system: lean(result.system), results: [] }];
    rows.ruleOut(own, result.status, result.failure);
    return [];
  });
}

function spread<T>(all: readonly T[]): T[] {
  const count = Math.min(PILOTS, all.length);
  return Array.from({ length: count }, (_, i) => all[Math.floor((i * all.length) / count)]!);
}

function spendingOf(candidates: readonly Candidate[], length: number): Spending {
  const timeOf = ({ results }: Candidate): number => results.reduce((sum, { simulatedPs }) => sum + simulatedPs, 0);
  const sum = (values: readonly number[]): number => values.reduce((all, value) => all + value, 0);
  return {
    replications: sum(candidates.map(({ results }) => results.length)),
    simulatedPs: sum(candidates.map(timeOf)),
    wholeReplications: candidates.length * length,
    wholePs: sum(candidates.map((one) => (timeOf(one) / one.results.length) * length)),
  };
}
