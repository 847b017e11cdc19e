import fc from 'fast-check';
import { type Failure, firstFailure, type Invariant, systemOf } from './invariant.js';
import { randomScenario } from './platforms/platform.js';
import { textOf } from './platforms/tree.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';

/** Where to look, and for what. */
export interface SearchOptions {
  readonly platforms: number;
  readonly seed: number;
  readonly invariants: readonly Invariant[];
  /** Told of every platform that is tried, but for those on the way from a failure to a smaller one. */
  readonly onPlatform?: (system: SystemSpec, count: number) => void;
  /** Told when the first failure is found, and of each smaller one. */
  readonly onFailure?: (failure: Failure) => void;
}

/** The smallest scenario that was found to break an invariant. */
export interface Found {
  /** The file that it is, without a word of what it breaks. */
  readonly scenario: string;
  readonly failure: Failure;
  /** Platforms tried before the first that failed, it included; and how often it was made smaller. */
  readonly platforms: number;
  readonly steps: number;
}

/** Tries random platforms until one breaks an invariant, then makes it smaller as long as it breaks the same one. */
export function search({ platforms, seed, invariants, onPlatform, onFailure }: SearchOptions): Found | null {
  let tried = 0;
  let found: { scenario: string; failure: Failure } | null = null;
  const property = fc.property(randomScenario, (tree) => {
    const scenario = textOf(tree);
    const system = systemOf(scenario);
    const wanted = found?.failure.invariant;
    const failure = firstFailure(
      system,
      wanted === undefined ? invariants : invariants.filter(({ name }) => name === wanted),
    );
    if (wanted === undefined) {
      tried++;
      onPlatform?.(system, tried);
    }
    if (failure === null) return true;
    found = { scenario, failure };
    onFailure?.(failure);
    return false;
  });
  const { numShrinks } = fc.check(property, { seed, numRuns: platforms });
  // TypeScript does not see that the property has set it
  const result = found as { scenario: string; failure: Failure } | null;
  return result === null ? null : { ...result, platforms: tried, steps: numShrinks };
}
