import { UsageError } from '../../errors.js';
import type { Attachment } from '../../scenario/layers.js';
import type { PlaceSpec } from '../../scenario/scenario.js';

/** Assignments that are told apart by nothing but the names of identical ports. */
export interface AssignmentClass {
  /** The first of them, in the order of the file. */
  readonly attachment: Attachment;
  /** How many there are. */
  readonly assignments: number;
}

/** More would take longer to list than anybody waits. */
export const MOST_ASSIGNMENTS = 100_000;

/** Every assignment of a search, in the order of the file: the element of the last mover changes first. */
export function* assignmentsOf({ mayAttach, share }: PlaceSpec): Generator<Attachment> {
  const movers = [...mayAttach];
  const chosen: [string, string][] = [];
  yield* from(0);

  function* from(place: number): Generator<Attachment> {
    const mover = movers[place];
    if (mover === undefined) return yield new Map(chosen);
    const [name, elements] = mover;
    for (const element of elements) {
      if (!share && chosen.some(([, taken]) => taken === element)) continue;
      chosen.push([name, element]);
      yield* from(place + 1);
      chosen.pop();
    }
  }
}

/**
 * The assignments in classes: two are the same where identical ports, exchanged among themselves, turn one into the other.
 *
 * @throws UsageError where there is none, or more than `MOST_ASSIGNMENTS`
 */
export function assignmentClasses(place: PlaceSpec, ports: readonly (readonly string[])[]): readonly AssignmentClass[] {
  const found = new Map<string, { attachment: Attachment; assignments: number }>();
  let count = 0;
  for (const attachment of assignmentsOf(place)) {
    if (++count > MOST_ASSIGNMENTS) {
      throw new UsageError(`more than ${MOST_ASSIGNMENTS} assignments; name fewer elements in place.may_attach`);
    }
    const key = patternOf(attachment, ports);
    const own = found.get(key);
    if (own === undefined) found.set(key, { attachment, assignments: 1 });
    else own.assignments++;
  }
  if (count === 0) {
    throw new UsageError(
      'no assignment gives each an element of its own; name more elements in place.may_attach, or write place.share: yes',
    );
  }
  return [...found.values()];
}

/** An assignment with each identical port named by its class, and by how many of the class were met before it. */
function patternOf(attachment: Attachment, ports: readonly (readonly string[])[]): string {
  const met = new Map<number, string[]>();
  const words = [...attachment.values()].map((element) => {
    const own = ports.findIndex((names) => names.includes(element));
    const before = met.get(own) ?? [];
    if (!before.includes(element)) met.set(own, [...before, element]);
    return [own, met.get(own)!.indexOf(element)];
  });
  return JSON.stringify(words);
}
