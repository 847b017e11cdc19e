import { uses } from '../measure/path-facts.js';
import { pathOf } from '../scenario/paths.js';
import type { ElementSpec, MasterSpec, SystemSpec } from '../scenario/scenario.js';
import { taskPeriodPs } from '../scenario/task-pace.js';
import { momentsOf } from '../traffic/distribution.js';

/** What is asked of one channel of an element against what it can carry. */
export interface ChannelLoad {
  element: string;
  /** `read` and `write` data channels, or `data` where both share one (a DRAM bus, a device). */
  channel: 'read' | 'write' | 'data';
  offeredBytesPerS: number;
  capacityBytesPerS: number;
  /** Masters that use it, largest demand first. */
  users: { master: string; bytesPerS: number }[];
}

/** The static account of a system's load: open sources only, as closed ones take what they get. */
export interface LoadAccount {
  channels: ChannelLoad[];
  /** Paths (`master operation`) that cross a channel asked for more than it can carry. */
  overloadedPaths: Set<string>;
}

/** Bytes per second of each direction. */
interface Demand {
  read: number;
  write: number;
}

/** What a master wants if it is an open source, of its own accord and for tasks; null for a closed one. */
function demandOf(system: SystemSpec, master: MasterSpec): Demand | null {
  const rate = rateOf(master);
  if (rate === null) return null;
  const { reads, writes } = uses(master);
  const share = reads && writes ? master.readShare : reads ? 1 : 0;
  const asked = askedOf(system, master);
  return { read: rate * share + asked.read, write: rate * (1 - share) + asked.write };
}

/** What tasks ask of a master. Reads of a flag go on until it is set, which is not known beforehand: they do not count. */
function askedOf({ tasks }: SystemSpec, { name }: MasterSpec): Demand {
  const demand = { read: 0, write: 0 };
  for (const task of tasks) {
    const perS = 1e12 / taskPeriodPs(tasks, task);
    for (const step of task.steps) {
      if (step.do !== 'access' || step.master !== name) continue;
      demand[step.write ? 'write' : 'read'] += step.part.bytes * perS;
    }
  }
  return demand;
}

function rateOf({ issue, size }: MasterSpec): number | null {
  const bytes = momentsOf(size).mean;
  switch (issue.process) {
    case 'steady':
    case 'poisson':
      return issue.pace.kind === 'rate' ? issue.pace.bytesPerS : (bytes * 1e12) / issue.pace.everyPs;
    case 'periodic':
      return (issue.blockBytes * 1e12) / issue.everyPs;
    case 'on_off': {
      const within = issue.pace.kind === 'rate' ? issue.pace.bytesPerS : (bytes * 1e12) / issue.pace.everyPs;
      const on = momentsOf(issue.on).mean;
      return (within * on) / (on + momentsOf(issue.off).mean);
    }
    case 'trace': {
      const last = issue.entries.at(-1);
      const total = issue.entries.reduce((sum, entry) => sum + entry.bytes, 0);
      return last === undefined || last.timePs === 0 ? 0 : (total * 1e12) / last.timePs;
    }
    case 'silent':
      return 0;
    default:
      return null;
  }
}

/** Adds up what the open sources ask of every element on their paths. */
export function loadOf(system: SystemSpec): LoadAccount {
  const channels = new Map<string, ChannelLoad>();
  const crossed = new Map<string, ChannelLoad[]>();
  for (const master of system.masters) {
    const demand = demandOf(system, master);
    if (demand === null) continue;
    for (const operation of ['read', 'write'] as const) {
      if (demand[operation] === 0) continue;
      const loads = elementsOn(system, master).map((element) => channelFor(system, channels, element, operation));
      for (const load of loads) {
        load.offeredBytesPerS += demand[operation];
        load.users.push({ master: master.name, bytesPerS: demand[operation] });
      }
      crossed.set(`${master.name} ${operation}`, loads);
    }
  }
  for (const load of channels.values()) load.users.sort((a, b) => b.bytesPerS - a.bytesPerS);
  const overloadedPaths = new Set<string>();
  for (const [path, loads] of crossed) if (loads.some(isOverloaded)) overloadedPaths.add(path);
  return { channels: [...channels.values()], overloadedPaths };
}

/** Is more asked of it than it can carry? */
export const isOverloaded = (load: ChannelLoad): boolean => load.offeredBytesPerS > load.capacityBytesPerS;

function elementsOn(system: SystemSpec, master: MasterSpec): ElementSpec[] {
  return (pathOf(system, master) ?? []).map((step) => step.element);
}

function channelFor(
  system: SystemSpec,
  channels: Map<string, ChannelLoad>,
  element: ElementSpec,
  operation: 'read' | 'write',
): ChannelLoad {
  const channel = element.kind === 'ddr' || element.kind === 'device' ? 'data' : operation;
  const key = `${element.name}\u0000${channel}`;
  let load = channels.get(key);
  if (load === undefined) {
    const capacityBytesPerS = capacityOf(system, element);
    load = { element: element.name, channel, offeredBytesPerS: 0, capacityBytesPerS, users: [] };
    channels.set(key, load);
  }
  return load;
}

/**
 * The most that one channel of an element can carry, in bytes per second: a beat a cycle; for DRAM the peak less the time
 * in refresh; for a device its servers' bursts of the longest kind, unknown here, so no limit is stated.
 */
export function capacityOf(system: SystemSpec, element: ElementSpec): number {
  if (element.kind === 'ddr') {
    const { tckNumerator, tckDenominator, busBytes, nRFC, tREFIps } = element.timing;
    const peak = (2 * busBytes * element.channels * 1e12 * tckDenominator) / tckNumerator;
    const refresh = element.refresh.mode === 'off' ? 0 : (nRFC * tckNumerator) / tckDenominator / tREFIps;
    return element.refresh.mode === 'per_bank' ? peak : peak * (1 - refresh);
  }
  if (element.clock === null) return Infinity;
  const clock = system.clocks.get(element.clock)!;
  const beats = element.kind === 'onchip' ? element.banks : 1;
  return (element.widthBytes * beats * 1e12 * clock.denominator) / clock.numerator;
}
