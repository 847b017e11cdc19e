import type { ElementSpec, MasterSpec, SystemSpec } from './scenario.js';

/**
 * One element on a path. A coherence unit is met in one of two ways: a cached access ends at its tags (`lookup`), any
 * other goes past them (`bypass`).
 */
export interface PathStep {
  element: ElementSpec;
  way: 'through' | 'lookup' | 'bypass';
}

/** The names that an element's outputs lead to; none for a memory or device. */
export function linksOf(element: ElementSpec): readonly string[] {
  return 'to' in element ? element.to : [];
}

/**
 * The shortest way from one element to another along the links, both included; of several, the one whose links were
 * declared first. Undefined where there is none.
 */
export function shortestWay(elements: readonly ElementSpec[], from: string, to: string): ElementSpec[] | undefined {
  const byName = new Map(elements.map((element) => [element.name, element]));
  const start = byName.get(from);
  if (start === undefined) return undefined;
  const cameFrom = new Map<string, string | null>([[from, null]]);
  const queue = [start];
  for (const element of queue) {
    if (element.name === to) return traceBack(byName, cameFrom, to);
    for (const name of linksOf(element)) {
      const next = byName.get(name);
      if (next === undefined || cameFrom.has(name)) continue;
      cameFrom.set(name, element.name);
      queue.push(next);
    }
  }
  return undefined;
}

/** The path of a master's bursts to the memory of its buffer, or undefined where no way leads there. */
export function pathOf(
  system: Pick<SystemSpec, 'elements' | 'buffers'>,
  master: Pick<MasterSpec, 'attach' | 'buffer'>,
): PathStep[] | undefined {
  const buffer = system.buffers.find((candidate) => candidate.name === master.buffer);
  if (buffer === undefined) return undefined;
  const way = shortestWay(system.elements, master.attach, buffer.memory);
  if (way === undefined) return undefined;
  const steps: PathStep[] = [];
  for (const element of way) {
    if (element.kind !== 'coherence') {
      steps.push({ element, way: 'through' });
      continue;
    }
    if (buffer.cached === 'yes') return [...steps, { element, way: 'lookup' }];
    steps.push({ element, way: 'bypass' });
  }
  return steps;
}

/** The path of a coherence unit's own bursts (fills and write-backs) to a memory. */
export function refillPath(
  system: Pick<SystemSpec, 'elements'>,
  unit: ElementSpec,
  memory: string,
): PathStep[] | undefined {
  const way = shortestWay(system.elements, unit.name, memory);
  return way?.map((element) => ({ element, way: element.kind === 'coherence' ? 'bypass' : 'through' }));
}

function traceBack(byName: Map<string, ElementSpec>, cameFrom: Map<string, string | null>, to: string): ElementSpec[] {
  const way: ElementSpec[] = [];
  for (let name: string | null = to; name !== null; name = cameFrom.get(name) ?? null) way.unshift(byName.get(name)!);
  return way;
}
