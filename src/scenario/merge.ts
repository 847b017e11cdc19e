import type { Problem } from '../errors.js';
import { problemAt } from './problem.js';
import { isNull, textOf, type Entry, type MapTree, type Tree } from './tree.js';

/** Keys that say which kind of thing a mapping is: a layer that changes one replaces the mapping whole. */
const KINDS = ['kind', 'process', 'pattern', 'policy'] as const;
/** Keys whose values are one of several forms (`{exponential: …}`), and are never mixed from two layers. */
const ATOMS = new Set(['size', 'service', 'think', 'on', 'off', 'batch', 'operations', 'page', 'outstanding']);
/** Of these only one may be given, so the upper layer's takes the place of the lower's. */
const RIVALS: readonly (readonly string[])[] = [
  ['rate', 'every'],
  ['frequency', 'period'],
  ['tCK', 'rate'],
];

/**
 * `upper` laid over `lower`: mappings merge key by key, anything else is replaced, and a key without value (null) removes
 * what the lower layer says.
 */
export function merge(lower: Tree | undefined, upper: Tree, problems: Problem[]): Tree {
  if (upper.kind !== 'map') return upper;
  const base = lower?.kind === 'map' && !differsInKind(lower, upper) ? lower : undefined;
  const entries = new Map(base?.entries ?? []);
  for (const [name, entry] of upper.entries) {
    if (isNull(entry.tree)) {
      remove(entries, name, entry, problems);
      continue;
    }
    for (const rival of rivalsOf(name)) if (!upper.entries.has(rival)) entries.delete(rival);
    const before = ATOMS.has(name) ? undefined : entries.get(name)?.tree;
    entries.set(name, { key: entry.key, tree: merge(before, entry.tree, problems) });
  }
  return { kind: 'map', place: upper.place, entries };
}

function remove(entries: Map<string, Entry>, name: string, { key }: Entry, problems: Problem[]): void {
  if (entries.delete(name)) return;
  problems.push(
    problemAt(key, 'nothing_to_remove', 'has no value, and nothing to remove', null, 'write a value or delete the key'),
  );
}

function differsInKind(lower: MapTree, upper: MapTree): boolean {
  return KINDS.some((kind) => {
    const [below, above] = [lower, upper].map((tree) => textOf(tree.entries.get(kind)?.tree));
    return below !== undefined && above !== undefined && below !== above;
  });
}

function rivalsOf(name: string): string[] {
  return RIVALS.flatMap((rivals) => (rivals.includes(name) ? rivals.filter((rival) => rival !== name) : []));
}
