import type { DramTimingSpec } from '../../../src/scenario/scenario.js';
import { type Issued, faultsOf as faultsOfCommands } from '../../validation/dram/legality.js';
import type { Logged } from './rig.js';

/** Every fault of a channel's log against the rule table, as text. */
export function faultsOf(log: readonly Logged[], timing: DramTimingSpec): string[] {
  const commands = log.map((entry) => issued(entry, timing));
  return faultsOfCommands(commands, timing).map(({ rule, command, from }) => {
    return `${JSON.stringify(command)}: ${rule} allows it from ${from} on`;
  });
}

/** A log entry of a rig as the checker takes it. */
export function issued([clock, kind, rank, bank, row]: Logged, timing: DramTimingSpec): Issued {
  return { clock, kind, rank, bank, row, group: Math.floor(bank / (timing.banks / timing.bankGroups)) };
}
