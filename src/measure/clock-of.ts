import { Clock, unclocked } from '../engine/clock.js';
import type { SystemSpec } from '../scenario/scenario.js';

/** The clock of that name; null: of what has none. */
export function clockOf({ clocks }: Pick<SystemSpec, 'clocks'>, name: string | null): Clock {
  if (name === null) return unclocked();
  const { numerator, denominator } = clocks.get(name)!;
  return new Clock(name, numerator, denominator);
}
