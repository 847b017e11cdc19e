import type { Scenario, SystemSpec } from '../scenario/scenario.js';

/** The systems of the placements named; all where none is. Names are checked by the caller. */
export function chosen(scenario: Scenario, placements: readonly string[]): SystemSpec[] {
  if (placements.length === 0) return scenario.systems;
  return scenario.systems.filter((system) => placements.includes(system.placement));
}
