/** Cores of the unit's bench that do a few accesses at stated cycles, and what they hold afterwards. */
import { LineState } from '../../../src/model/coherence/tag-store.js';
import { type CoreOptions, CYCLE, Script, type UnitBench } from './unit-bench.js';

export interface Step {
  readonly at: number;
  readonly line: number;
  readonly write?: boolean;
}

/** A core; its access of cycle c is looked up at the unit at c + 2. */
export function core(name: string, ...steps: Step[]): CoreOptions {
  const source = new Script(steps.map(({ at, line, write = false }) => ({ at: at * CYCLE, line, write })));
  return { name, source, process: 'trace' };
}

/** The state of a line in the private cache of a core, by number. */
export function stateIn(bed: UnitBench, index: number, line: number): number {
  const { tags } = bed.cores[index]!.cache;
  const place = tags.find(line);
  return place < 0 ? LineState.invalid : tags.states[place]!;
}

/** The state of a line in the shared cache. */
export function stateInL2(bed: UnitBench, line: number): number {
  const { l2 } = bed.structural;
  const place = l2.find(line);
  return place < 0 ? LineState.invalid : l2.states[place]!;
}

/** Cycles at which the accesses of a core were done. */
export function doneBy(bed: UnitBench, master: number): number[] {
  return bed.log.accesses.filter((access) => access.master === master).map(({ donePs }) => donePs / CYCLE);
}
