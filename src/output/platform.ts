/** The platform and its traffic as a drawing needs them: what stands in a manifest, so that a report needs no other file. */
import { uses } from '../measure/path-facts.js';
import { isOfTime, subjectName } from '../measure/subject.js';
import { percentileName } from '../measure/tables/verdict-columns.js';
import { linksOf, pathOf, refillPath } from '../scenario/paths.js';
import type { BudgetSpec, ElementSpec, MasterSpec, SystemSpec } from '../scenario/scenario.js';

/** A system as its manifest tells it. */
export interface PlatformFacts {
  readonly placement: string;
  readonly elements: readonly ElementFacts[];
  readonly masters: readonly MasterFacts[];
  readonly budgets: readonly BudgetFacts[];
}

export interface ElementFacts {
  readonly name: string;
  readonly kind: string;
  readonly width_bits: number;
  /** Null: unclocked. */
  readonly clock_mhz: number | null;
  /** Names of the elements that its outputs lead to. */
  readonly to: readonly string[];
}

export interface MasterFacts {
  readonly name: string;
  readonly attach: string;
  readonly core: boolean;
  readonly operations: readonly string[];
  readonly buffer: string;
  readonly memory: string;
  /** Elements that its bursts go through, from where it is attached. */
  readonly path: readonly string[];
  /** Elements that fetches of a cache on that path go through, from the cache on; empty where there is none. */
  readonly refill: readonly string[];
}

export interface BudgetFacts {
  readonly name: string;
  /** Of what: `camera write`, `ddr`. */
  readonly subject: string;
  /** What of it: `p99 of transfer latency`, `bandwidth`. */
  readonly quantity: string;
  readonly bound: 'at_most' | 'at_least';
}

/** What a drawing of the system needs. */
export function platformFacts(system: SystemSpec): PlatformFacts {
  return {
    placement: system.placement,
    elements: system.elements.map((element) => elementFacts(system, element)),
    masters: system.masters.map((master) => masterFacts(system, master)),
    budgets: system.budgets.map(budgetFacts),
  };
}

function elementFacts({ clocks }: SystemSpec, element: ElementSpec): ElementFacts {
  const clock = element.clock === null ? undefined : clocks.get(element.clock);
  return {
    name: element.name,
    kind: element.kind,
    width_bits: 8 * element.widthBytes,
    clock_mhz: clock === undefined ? null : Number(((1e6 * clock.denominator) / clock.numerator).toFixed(3)),
    to: linksOf(element),
  };
}

function masterFacts(system: SystemSpec, master: MasterSpec): MasterFacts {
  const steps = pathOf(system, master) ?? [];
  const { memory } = system.buffers.find(({ name }) => name === master.buffer)!;
  const end = steps.at(-1);
  const refill = end?.way === 'lookup' ? (refillPath(system, end.element, memory) ?? []) : [];
  const { reads, writes } = uses(master);
  return {
    name: master.name,
    attach: master.attach,
    core: master.core !== null,
    operations: [...(reads ? ['read'] : []), ...(writes ? ['write'] : [])],
    buffer: master.buffer,
    memory,
    path: steps.map(({ element }) => element.name),
    refill: refill.map(({ element }) => element.name),
  };
}

function budgetFacts(spec: BudgetSpec): BudgetFacts {
  const quantity = quantityOf(spec);
  const bound = spec.kind === 'bandwidth' ? 'at_least' : 'at_most';
  return { name: spec.name, subject: subjectName(spec), quantity, bound };
}

function quantityOf(spec: BudgetSpec): string {
  if (!isOfTime(spec)) return spec.kind;
  const which = spec.percentile === 1 ? 'largest' : `${percentileName(spec.percentile).replace('_', '.')} of`;
  return `${which} ${spec.kind === 'task' ? 'time' : `${spec.level} latency`}`;
}
