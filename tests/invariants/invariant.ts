import { readScenario } from '../../src/scenario/read.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { observe, type Observation } from './observation.js';

/** What must hold for every platform and every load. */
export interface Invariant {
  /** In section 7 of the design. */
  readonly number: number;
  /** One word or two, for reports. */
  readonly name: string;
  /** What it says, in a sentence. */
  readonly states: string;
  /** Each way in which a system breaks it, in a sentence. */
  readonly breaches: (subject: Subject) => Iterable<string>;
}

/** A system under scrutiny, and its plain run, which most invariants look at. */
export class Subject {
  private plain: Observation | null = null;

  constructor(readonly system: SystemSpec) {}

  /** The run of the system as it stands. */
  get observation(): Observation {
    this.plain ??= observe(this.system);
    return this.plain;
  }
}

/** The first system that a scenario file describes. @throws ScenarioError */
export function systemOf(text: string, file = 'random.yaml'): SystemSpec {
  const readFile = (name: string): never => {
    throw new Error(`no file ${name}`);
  };
  return readScenario(text, file, { readFile }).systems[0]!;
}

/** An invariant that a system breaks, and how. */
export interface Failure {
  readonly invariant: string;
  readonly breaches: readonly string[];
}

const MOST_BREACHES = 5;

/** The first of some invariants that a system breaks, or null. */
export function firstFailure(system: SystemSpec, invariants: readonly Invariant[]): Failure | null {
  for (const failure of failures(system, invariants)) return failure;
  return null;
}

/** Every invariant that a system breaks. A run that cannot be finished breaks those that ask for it. */
export function* failures(system: SystemSpec, invariants: readonly Invariant[]): Iterable<Failure> {
  const subject = new Subject(system);
  for (const { name, breaches } of invariants) {
    const found: string[] = [];
    try {
      for (const breach of breaches(subject)) if (found.push(breach) === MOST_BREACHES) break;
    } catch (error) {
      found.push(error instanceof Error ? (error.stack ?? error.message) : String(error));
    }
    if (found.length > 0) yield { invariant: name, breaches: found };
  }
}
