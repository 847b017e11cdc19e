import type { Problem } from '../errors.js';
import type { ParsedSystem } from './parse-system.js';
import { problemAt } from './problem.js';
import { suggestion } from './suggestion.js';
import { child, entriesOf, textOf, type ListTree, type Tree } from './tree.js';

/** The masters that a name stands for, as in `attach` of a placement: those of the group, or else the one of that name. */
export function mastersNamed(masters: readonly { name: string; group: string | null }[], name: string): string[] {
  const group = masters.filter((master) => master.group === name);
  return (group.length > 0 ? group : masters.filter((master) => master.name === name)).map((master) => master.name);
}

/** Reports what a search moves that is not there, or moves twice, and places that are not there. */
export function checkPlace(parsed: ParsedSystem, problems: Problem[]): void {
  if (parsed.place === null) return;
  const masters = parsed.masters.map(({ name, tree }) => ({ name, group: textOf(child(tree, 'group')) ?? null }));
  const names = [...new Set(masters.flatMap(({ name, group }) => (group === null ? [name] : [group, name])))];
  const movers = new Map<string, string>();
  for (const [name, { key, tree }] of entriesOf(child(parsed.place.tree, 'may_attach'))) {
    const own = mastersNamed(masters, name);
    if (own.length === 0) {
      problems.push(problemAt(key, 'unknown_name', `unknown group or master '${name}'`, name, suggestion(name, names)));
    }
    const twice = own.find((master) => movers.has(master));
    if (twice !== undefined) {
      const message = `moves ${twice}, which '${movers.get(twice)}' moves too`;
      problems.push(problemAt(key, 'conflict', message, null, 'delete one of the two'));
    }
    for (const master of own) movers.set(master, name);
    if (tree.kind === 'list') checkElements(tree, parsed, problems);
  }
}

function checkElements(list: ListTree, { elements }: ParsedSystem, problems: Problem[]): void {
  const usable = elements.filter(({ block }) => ['ports', 'coherence', 'devices'].includes(block));
  const known = usable.map(({ name }) => name);
  const seen = new Set<string>();
  for (const item of list.items) {
    const name = textOf(item);
    if (name === undefined) continue;
    if (!known.includes(name)) problems.push(unknown(item, name, known));
    else if (seen.has(name)) problems.push(problemAt(item.place, 'conflict', 'is there twice', name, 'delete one'));
    seen.add(name);
  }
}

const unknown = (at: Tree, name: string, known: readonly string[]): Problem =>
  problemAt(
    at.place,
    'unknown_name',
    `unknown port, coherence unit or device '${name}'`,
    name,
    suggestion(name, known),
  );
