import type { SystemSpec } from '../scenario/scenario.js';

/** A system without what only the tables of a run show, for studies that run many; like another where `run` is that one's. */
export function lean(system: SystemSpec, run = system.run): SystemSpec {
  return { ...system, run: { ...run, journeys: 'off', timeline: 'off', exact: false } };
}
