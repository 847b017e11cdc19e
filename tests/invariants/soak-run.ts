import type { SystemSpec } from '../../src/scenario/scenario.js';
import { type Failure, firstFailure, type Invariant, systemOf } from './invariant.js';
import { type Found, search } from './search.js';

/** What a soak needs from outside. */
export interface SoakOptions {
  readonly platforms: number;
  readonly seed: number;
  readonly invariants: readonly Invariant[];
  /** Writes the file of a failure. */
  readonly save: (text: string) => void;
  readonly say: (line: string) => void;
  readonly onPlatform: (system: SystemSpec, count: number) => void;
  /** Told of the first failure, and of each smaller one after it. */
  readonly onFailure: (failure: Failure) => void;
}

/** Tries random platforms; saves the smallest one found that breaks an invariant. Answers whether none did. */
export function soak(options: SoakOptions): boolean {
  const { seed, save, say } = options;
  const found = search(options);
  if (found === null) return true;
  const { failure, platforms, steps } = found;
  save(failureFile(found, seed));
  say(`platform ${platforms} breaks ‘${failure.invariant}’; made smaller ${steps} times, it still does:`);
  for (const breach of failure.breaches) say(`  ${breach}`);
  return false;
}

/** The scenario that failed, below a comment that says what failed and how to see it again. */
export function failureFile({ scenario, failure }: Found, seed: number): string {
  const lines = [
    `Breaks the invariant ‘${failure.invariant}’; found by npm run soak -- --seed ${seed}, then made smaller.`,
    'npm run soak -- --file FILE looks at it again; burstyard run FILE makes the same run.',
    '',
    ...failure.breaches.flatMap((breach) => breach.split('\n')),
  ];
  return `${lines.map((line) => `# ${line}`.trimEnd()).join('\n')}\n${scenario}`;
}

/** Looks at one scenario file again: what it breaks, or null. @throws ScenarioError */
export function recheck(text: string, invariants: readonly Invariant[], file?: string): Failure | null {
  return firstFailure(systemOf(text, file), invariants);
}
