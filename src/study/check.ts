import { uses } from '../measure/path-facts.js';
import { pathOf } from '../scenario/paths.js';
import type { MasterSpec, SystemSpec } from '../scenario/scenario.js';
import { BurstCutter } from '../traffic/burst-cutter.js';
import { type IdleCase, IdleCases } from './idle-cases.js';
import { type ChannelLoad, isOverloaded, loadOf } from './offered-load.js';

export interface PathCheck {
  readonly master: string;
  readonly operation: 'read' | 'write';
  readonly route: readonly string[];
  readonly bytes: number;
  readonly cases: readonly IdleCase[];
}

/** What can be said of a system without simulating it. */
export interface CheckReport {
  readonly placement: string;
  readonly paths: readonly PathCheck[];
  readonly loads: readonly ChannelLoad[];
  readonly warnings: readonly string[];
}

/** Load above which an element is warned about even though it is not overloaded. */
const TIGHT = 0.9;

/** The closed-form account of several placements, or variants, of which most share most paths. */
export function checkSystems(systems: readonly SystemSpec[]): CheckReport[] {
  const idleCases = new IdleCases();
  return systems.map((system) => reportOf(system, idleCases));
}

/** The closed-form account of one placement. */
export function checkSystem(system: SystemSpec): CheckReport {
  return reportOf(system, new IdleCases());
}

function reportOf(system: SystemSpec, idleCases: IdleCases): CheckReport {
  const { channels } = loadOf(system);
  return {
    placement: system.placement,
    paths: system.masters.flatMap((master) => pathChecks(system, master, idleCases)),
    loads: channels.toSorted((a, b) => share(b) - share(a)),
    warnings: [...loadWarnings(channels), ...earlyWarnings(system)],
  };
}

const share = (load: ChannelLoad): number => load.offeredBytesPerS / load.capacityBytesPerS;

function pathChecks(system: SystemSpec, master: MasterSpec, idleCases: IdleCases): PathCheck[] {
  const { reads, writes } = uses(master);
  const operations = [...(reads ? (['read'] as const) : []), ...(writes ? (['write'] as const) : [])];
  return operations.map((operation) => pathCheck(system, master, operation, idleCases));
}

function pathCheck(
  system: SystemSpec,
  master: MasterSpec,
  operation: 'read' | 'write',
  idleCases: IdleCases,
): PathCheck {
  const steps = pathOf(system, master)!;
  const buffer = system.buffers.find((candidate) => candidate.name === master.buffer)!;
  const bytes = firstBurst(master, buffer.baseBytes);
  const cases = idleCases.of(system, master, operation, bytes);
  const route = steps.map(({ element, way }) => (way === 'bypass' ? `${element.name} (past the tags)` : element.name));
  return { master: master.name, operation, route, bytes, cases };
}

function firstBurst(master: MasterSpec, base: number): number {
  const cutter = new BurstCutter(master.widthBytes, master.burstBeats);
  cutter.start(base, master.size.kind === 'fixed' ? master.size.value : master.burstBeats * master.widthBytes);
  cutter.next();
  return cutter.bytes;
}

function loadWarnings(channels: readonly ChannelLoad[]): string[] {
  return channels
    .filter((load) => share(load) > TIGHT)
    .map((load) => {
      const percent = Math.round(100 * share(load));
      const users = load.users.map(({ master }) => master).join(', ');
      const end = isOverloaded(load) ? 'its queues will grow without end' : 'expect long queues';
      return `${load.element} (${load.channel}) is asked for ${percent} % of what it can carry, by ${users}: ${end}`;
    });
}

function earlyWarnings(system: SystemSpec): string[] {
  return system.elements
    .filter((element) => 'writeResponse' in element && element.writeResponse === 'early')
    .map(
      (element) =>
        `${element.name} answers writes before the memory has them: a wake-up that relies on the answer may overtake the data`,
    );
}
