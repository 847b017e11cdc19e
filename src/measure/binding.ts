import type { ReplicationResult } from './results.js';
import type { BlameRow, LatencyRow, ResourceRow } from './tables/rows.js';

/** A path that waits for less than this share of its latency is bound by the way it goes, not by a wait. */
const LEAST_WAIT = 0.1;

/** The rows of one placement, pooled. */
export interface BindingRows {
  readonly blame: readonly BlameRow[];
  readonly resources: readonly ResourceRow[];
}

/**
 * The element that binds a path: where it waits for at least a tenth of its mean latency, the one at which the largest part
 * of that waiting is charged; else, and where no blame is kept, the busiest one on its route. Null where there is none.
 */
export function bindingElement(
  { master, operation, meanPs }: LatencyRow,
  { blame, resources }: BindingRows,
  { paths }: ReplicationResult,
): string | null {
  const waits = new Map<string, number>();
  for (const row of blame) {
    if (row.victim === `${master} ${operation}`) waits.set(row.element, (waits.get(row.element) ?? 0) + row.meanPs);
  }
  const waiting = [...waits.values()].reduce((sum, ps) => sum + ps, 0);
  if (waiting > 0 && waiting >= LEAST_WAIT * (meanPs ?? 0)) return largest([...waits]);
  const route = paths.find((path) => path.master === master && path.operation === operation)?.route ?? [];
  const busy = new Map(resources.map(({ element, utilisation }) => [element, utilisation ?? 0]));
  return largest(route.map((element) => [element, busy.get(element) ?? 0]));
}

/** The first of the largest. */
function largest(values: readonly (readonly [string, number])[]): string | null {
  let found: readonly [string, number] | null = null;
  for (const one of values) if (found === null || one[1] > found[1]) found = one;
  return found?.[0] ?? null;
}
