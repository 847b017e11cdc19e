import { isDeepStrictEqual } from 'node:util';
import { linksOf } from '../../scenario/paths.js';
import type { ElementSpec, MetricSpec, SystemSpec } from '../../scenario/scenario.js';

/** What else a search tells elements apart by, besides the system. */
export interface Surroundings {
  /** Masters that the search moves. */
  readonly moved: ReadonlySet<string>;
  readonly goal: MetricSpec;
}

/**
 * The elements in classes of identical ones, each class in the order given: two ports are identical where the system with
 * their names exchanged is the same system. Both are then alike in every key and lead to the same outputs, no master stays
 * at either, nothing leads to them, and no arbitration, budget or goal tells them apart by name.
 *
 * What is left is the number of the input: arbiters break ties of one instant by it, so that a run with two identical ports
 * exchanged is another sample of the same system, not the same bytes.
 */
export function portClasses(
  system: SystemSpec,
  names: readonly string[],
  surroundings: Surroundings,
): readonly (readonly string[])[] {
  const classes: string[][] = [];
  for (const name of names) {
    const own = classes.find(([first]) => areIdentical(system, first!, name, surroundings));
    if (own === undefined) classes.push([name]);
    else own.push(name);
  }
  return classes;
}

function areIdentical(system: SystemSpec, first: string, second: string, { moved, goal }: Surroundings): boolean {
  const { elements, masters, budgets } = system;
  const [a, b] = [first, second].map((name) => elements.find((element) => element.name === name));
  if (a?.kind !== 'port' || b?.kind !== 'port' || !isDeepStrictEqual({ ...a, name: '' }, { ...b, name: '' }))
    return false;
  const names = [first, second];
  const isOneOf = (name: string): boolean => names.includes(name);
  if (masters.some(({ name, attach }) => isOneOf(attach) && !moved.has(name))) return false;
  if (elements.some((element) => linksOf(element).some(isOneOf))) return false;
  if ([...budgets, goal].some((one) => one.kind === 'utilisation' && isOneOf(one.element))) return false;
  return elements.every((element) => treatsAlike(element, first, second, linksOf(a).includes(element.name)));
}

/** Does the arbitration of an element treat two inputs in the same way, but for their number? */
function treatsAlike(element: ElementSpec, first: string, second: string, entered: boolean): boolean {
  if (!('arbitration' in element)) return true;
  const { policy, priority, weights, slots } = element.arbitration;
  const names = [first, second];
  if (weights.get(first) !== weights.get(second)) return false;
  if (priority.some((name) => names.includes(name))) return false;
  if (slots.some(({ input }) => input !== null && names.includes(input))) return false;
  // inputs that are not named follow in their order, each before the next
  return policy !== 'fixed_priority' || !entered;
}
