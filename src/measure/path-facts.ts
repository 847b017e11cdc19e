import { pathOf } from '../scenario/paths.js';
import type { MasterSpec, SystemSpec } from '../scenario/scenario.js';
import type { PathFacts, SourceKind } from './path-record.js';

/** Does a master ever read, or write? */
export function uses(master: MasterSpec): { reads: boolean; writes: boolean } {
  const { asked } = master;
  const own = wants(master);
  return { reads: own.reads || asked.reads, writes: own.writes || asked.writes };
}

/** The same of its own accord. */
function wants({ issue, readShare }: MasterSpec): { reads: boolean; writes: boolean } {
  if (issue.process === 'silent') return { reads: false, writes: false };
  if (issue.process === 'trace') {
    return { reads: issue.entries.some((e) => !e.write), writes: issue.entries.some((e) => e.write) };
  }
  return { reads: readShare > 0, writes: readShare < 1 };
}

/** What is known before the run of a master's read and write path; null for a direction that it does not use. */
export function pathFacts(
  system: SystemSpec,
  master: MasterSpec,
  overCapacity: ReadonlySet<string>,
): [PathFacts | null, PathFacts | null] {
  const buffer = system.buffers.find((candidate) => candidate.name === master.buffer)!;
  const route = (pathOf(system, master) ?? []).map(({ element, way }) =>
    way === 'bypass' ? `${element.name} bypass` : element.name,
  );
  const facts = (operation: 'read' | 'write'): PathFacts => ({
    master: master.name,
    port: master.attach,
    target: buffer.memory,
    operation,
    source: sourceKind(master),
    route,
    overCapacity: overCapacity.has(`${master.name} ${operation}`),
  });
  const { reads, writes } = uses(master);
  return [reads ? facts('read') : null, writes ? facts('write') : null];
}

function sourceKind({ issue }: MasterSpec): SourceKind {
  return issue.process === 'greedy' || issue.process === 'dependent' ? issue.process : 'open';
}
