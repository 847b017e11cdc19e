import type { PlaceFailure } from '../../measure/tables/rows.js';
import type { Assigned } from '../../scenario/read.js';
import type { SystemSpec } from '../../scenario/scenario.js';
import { isOverloaded, loadOf } from '../offered-load.js';

/** What an assignment comes to before anything is simulated: a system, or what speaks against it. */
export type Screened =
  { readonly system: SystemSpec } | { readonly status: 'impossible' | 'over_capacity'; readonly failure: PlaceFailure };

/** Rules out what the checks of a scenario refuse, and what asks more of an element than it can carry. */
export function screen(assigned: Assigned): Screened {
  if ('problems' in assigned) {
    const text = assigned.problems
      .map(({ path, message }) => (path === '' ? message : `${path}: ${message}`))
      .join('; ');
    return { status: 'impossible', failure: { kind: 'reason', text } };
  }
  const [worst] = loadOf(assigned.system)
    .channels.filter(isOverloaded)
    .toSorted((a, b) => b.offeredBytesPerS / b.capacityBytesPerS - a.offeredBytesPerS / a.capacityBytesPerS);
  if (worst === undefined) return assigned;
  const { element, channel, offeredBytesPerS, capacityBytesPerS } = worst;
  return {
    status: 'over_capacity',
    failure: { kind: 'capacity', element, channel, offeredBytesPerS, capacityBytesPerS },
  };
}
