import { Command } from '../../src/model/dram/command.js';
import { DdrController } from '../../src/model/dram/controller.js';
import { LegalityChecker } from '../validation/dram/legality.js';
import type { Invariant } from './invariant.js';
import type { Observation } from './observation.js';
import type { Commanded } from './watch.js';

/**
 * 4. An independent checker (tests/validation/dram/legality.ts) reads the command log of every DRAM channel and finds no
 * constraint of the standards violated.
 */
export const dramLegality: Invariant = {
  number: 4,
  name: 'DRAM legality',
  states: 'no command of any DRAM channel violates a constraint of the standards',
  *breaches({ observation }) {
    for (const { name, commands, timing } of channelsOf(observation)) {
      const checker = new LegalityChecker(timing);
      for (const command of commands) {
        for (const { rule, from } of checker.next(command))
          yield `${name}: ${rule} at ${command.clock}, allowed from ${from}`;
      }
      yield* forgotten(name, commands);
    }
  },
};

interface ChannelLog {
  readonly name: string;
  readonly commands: readonly Commanded[];
  readonly timing: DdrController['timing'];
}

function* channelsOf({ watch, simulation }: Observation): Iterable<ChannelLog> {
  for (const element of simulation.model.elements) {
    if (!(element instanceof DdrController)) continue;
    for (const { number } of element.dram) {
      yield {
        name: `${element.base.name} channel ${number}`,
        commands: watch.commands.filter(({ memory, channel }) => memory === element.base.index && channel === number),
        timing: element.timing,
      };
    }
  }
}

/** Clocks never fall, and row commands name a row. */
function* forgotten(name: string, commands: readonly Commanded[]): Iterable<string> {
  for (const [i, { clock, kind, row }] of commands.entries()) {
    if (i > 0 && clock <= commands[i - 1]!.clock)
      yield `${name}: command ${i} at clock ${clock}, after ${commands[i - 1]!.clock}`;
    if (kind <= Command.writeAuto && row < 0) yield `${name}: command ${i} names no row`;
  }
}
