import type { Problem } from '../errors.js';
import type { ParsedSystem } from './parse-system.js';
import { linksOf, pathOf, shortestWay } from './paths.js';
import { problemAt } from './problem.js';
import type { ElementSpec, MasterSpec, SystemSpec } from './scenario.js';
import { child } from './tree.js';

/** Checks that every master reaches its buffer, and that the routes which are used cannot wait for one another in a ring. */
export function checkRoutes(parsed: ParsedSystem, system: SystemSpec, problems: Problem[]): void {
  const routes: ElementSpec[][] = [];
  for (const master of system.masters) {
    const buffer = system.buffers.find(({ name }) => name === master.buffer)!;
    // beyond the tags of a coherence unit the same way is that of its fills
    const way = shortestWay(system.elements, master.attach, buffer.memory);
    const entry = parsed.masters.find(({ name }) => name === master.name)!;
    if (way !== undefined) {
      routes.push(way);
      checkHitRatio(entry, system, master, problems);
      continue;
    }
    const reached = reachable(system, master.attach);
    const place = child(entry.tree, 'attach')?.place ?? entry.key;
    const message = `no route from '${master.attach}' to '${buffer.memory}', where buffer '${buffer.name}' lies`;
    const hint = reached.length === 0 ? 'it leads nowhere' : `it reaches ${reached.join(', ')}`;
    problems.push(problemAt(place, 'no_route', message, null, hint));
  }
  const cycle = cycleOf(routes);
  if (cycle === undefined) return;
  const entry = parsed.elements.find(({ name }) => name === cycle[0])!;
  const place = child(entry.tree, 'to')?.place ?? entry.key;
  const message = `routes must not wait for one another in a ring: ${[...cycle, cycle[0]!].join(' → ')}`;
  problems.push(problemAt(place, 'cycle', message, null, 'take one of these links out of use'));
}

function checkHitRatio(
  entry: ParsedSystem['masters'][number],
  system: SystemSpec,
  master: MasterSpec,
  problems: Problem[],
): void {
  const end = pathOf(system, master)?.at(-1);
  if (end?.way !== 'lookup' || end.element.kind !== 'coherence' || end.element.model !== 'statistical') return;
  if (entry.keys?.hitRatio !== null) return;
  const place = { ...entry.key, path: `${entry.key.path}.hit_ratio` };
  const message = `is missing, as '${end.element.name}' draws hits by it`;
  problems.push(problemAt(place, 'missing_key', message, null, `add e.g. 'hit_ratio: 80 %'`));
}

function reachable({ elements }: SystemSpec, from: string): string[] {
  const ends = elements.filter((element) => linksOf(element).length === 0);
  return ends.filter(({ name }) => shortestWay(elements, from, name) !== undefined).map(({ name }) => name);
}

/**
 * The elements of a ring of channels, or undefined. A channel is an element's output; an edge joins consecutive outputs
 * of a route. (Responses use the same channels the other way round, so a ring of theirs is a ring of these.)
 */
function cycleOf(routes: readonly ElementSpec[][]): string[] | undefined {
  const channels = new Map<string, { from: string; next: Set<string> }>();
  for (const route of routes) {
    let before: Set<string> | undefined;
    for (const [i, element] of route.slice(0, -1).entries()) {
      const id = JSON.stringify([element.name, route[i + 1]!.name]);
      const channel = channels.get(id) ?? { from: element.name, next: new Set() };
      channels.set(id, channel);
      before?.add(id);
      before = channel.next;
    }
  }
  const done = new Set<string>();
  for (const id of channels.keys()) {
    const ring = visit(id, [], done, channels);
    if (ring !== undefined) return ring.map((channel) => channels.get(channel)!.from);
  }
  return undefined;
}

/** Depth first; the channels from the one that is met again. */
function visit(
  id: string,
  trail: readonly string[],
  done: Set<string>,
  channels: ReadonlyMap<string, { next: ReadonlySet<string> }>,
): string[] | undefined {
  if (trail.includes(id)) return trail.slice(trail.indexOf(id));
  if (done.has(id)) return undefined;
  for (const next of channels.get(id)!.next) {
    const ring = visit(next, [...trail, id], done, channels);
    if (ring !== undefined) return ring;
  }
  done.add(id);
  return undefined;
}
