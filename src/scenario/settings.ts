import type { Problem } from '../errors.js';
import { merge } from './merge.js';
import { problemAt } from './problem.js';
import { suggestion } from './suggestion.js';
import { child, emptyMap, entriesOf, type MapTree, type Place, type Tree, withEntry } from './tree.js';
import { readYaml } from './yaml-tree.js';

/** A value laid over a scenario from outside, such as `{ key: 'buffers.lines.size', value: '64 KiB' }`. */
export interface Setting {
  /** Dotted path in a scenario file. */
  readonly key: string;
  /** As it would be written there. */
  readonly value: string;
}

/** Blocks whose keys are names that the file gives: a name that is not there is a slip, not a new thing. */
const NAMED = /^(?:buffers|masters|budgets|compare|platform\.(?:clocks|ports|switches|coherence|memories|devices))$/u;

/** Lays settings over a system, above its file and its placement; their values are checked with the rest. */
export function settled(tree: MapTree, settings: readonly Setting[], problems: Problem[]): MapTree {
  return settings.reduce((below, setting) => {
    const layer = layerOf(setting, below, problems);
    return layer === null ? below : (merge(below, layer, problems) as MapTree);
  }, tree);
}

/** One setting as a layer; null where it cannot be one. */
function layerOf({ key, value }: Setting, system: MapTree, problems: Problem[]): MapTree | null {
  const place: Place = { file: `${key}=${value}`, line: 1, column: 1, path: key };
  const names = key.split('.');
  const refuse = (code: Problem['code'], message: string, hint: string): null => {
    problems.push(problemAt(place, code, message, null, hint));
    return null;
  };
  if (names.includes('') || names[0] === 'placements') {
    const hint = `write the path of a key as in 'buffers.lines.size'`;
    return refuse('unknown_key', 'is no key that can be set for all placements', hint);
  }
  let at: Tree | undefined = system;
  for (const [depth, name] of names.entries()) {
    const block = names.slice(0, depth).join('.');
    if (NAMED.test(block) && child(at, name) === undefined) {
      const known = entriesOf(at).map(([one]) => one);
      return refuse('unknown_name', `there is no '${name}' in ${block}`, suggestion(name, known));
    }
    at = child(at, name);
  }
  const { tree, problems: wrong } = readYaml(`value: ${value}`, place.file);
  const written = child(tree ?? undefined, 'value');
  if (written === undefined || wrong.length > 0)
    return refuse('syntax', 'has a value that cannot be read', 'write it as in a scenario file');
  const leaf = { key: place, tree: moved(written, place) };
  return names.reduceRight<MapTree | null>(
    (inner, name) => withEntry(emptyMap(place), name, inner === null ? leaf : { key: place, tree: inner }),
    null,
  );
}

/** The tree with all its places at the setting. */
function moved(tree: Tree, place: Place): Tree {
  if (tree.kind === 'scalar') return { ...tree, place };
  if (tree.kind === 'list') return { ...tree, place, items: tree.items.map((item) => moved(item, place)) };
  const entries = new Map(
    [...tree.entries].map(([name, entry]) => [name, { key: place, tree: moved(entry.tree, place) }]),
  );
  return { ...tree, place, entries };
}
