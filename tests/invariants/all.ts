import { capacity } from './capacity.js';
import { conservation } from './conservation.js';
import { depth } from './depth.js';
import { dramLegality } from './dram-legality.js';
import { edges } from './edges.js';
import type { Invariant } from './invariant.js';
import { journeys } from './journeys.js';
import { littlesLaw } from './littles-law.js';
import { order } from './order.js';
import { overTime } from './over-time.js';
import { reproducible } from './reproducible.js';
import { unloaded } from './unloaded.js';

/**
 * The invariants of the design, section 7, in its order. To add one, write a module that exports an `Invariant` and name it
 * here: the tests, the soak and the planted faults take them from this list.
 */
export const INVARIANTS: readonly Invariant[] = [
  conservation,
  littlesLaw,
  overTime,
  journeys,
  dramLegality,
  order,
  depth,
  capacity,
  reproducible,
  edges,
  unloaded,
];
