/** Where something was written. */
export interface Place {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  /** The key, as its author would name it: `placements.coherent.masters.camera.burst`. */
  readonly path: string;
}

/**
 * What a file says, with the place of everything in it. Layers (preset, file, placement) are merged as trees, so that a
 * mistake is reported where it was written. Keys live in maps: no name can be mistaken for a property of objects.
 */
export type Tree = MapTree | ListTree | ScalarTree;

export interface MapTree {
  readonly kind: 'map';
  readonly place: Place;
  readonly entries: ReadonlyMap<string, Entry>;
}

export interface Entry {
  /** Place of the key itself. */
  readonly key: Place;
  readonly tree: Tree;
}

export interface ListTree {
  readonly kind: 'list';
  readonly place: Place;
  readonly items: readonly Tree[];
}

export interface ScalarTree {
  readonly kind: 'scalar';
  readonly place: Place;
  readonly value: string | number | boolean | null;
  /** As written. */
  readonly text: string;
}

export const emptyMap = (place: Place): MapTree => ({ kind: 'map', place, entries: new Map() });

export function isNull(tree: Tree | undefined): boolean {
  return tree?.kind === 'scalar' && tree.value === null;
}

/** The value of a key, where the tree is a mapping that has it. */
export function child(tree: Tree | undefined, key: string | number): Tree | undefined {
  if (tree?.kind === 'map') return tree.entries.get(String(key))?.tree;
  return tree?.kind === 'list' ? tree.items[Number(key)] : undefined;
}

/** The entries of a mapping; none where the tree is something else. */
export function entriesOf(tree: Tree | undefined): [string, Entry][] {
  return tree?.kind === 'map' ? [...tree.entries] : [];
}

/** The text of a scalar that is text; undefined for anything else. */
export function textOf(tree: Tree | undefined): string | undefined {
  return tree?.kind === 'scalar' && typeof tree.value === 'string' ? tree.value : undefined;
}

/** A mapping with one entry set, in place of the old one or at the end. */
export function withEntry(tree: MapTree, name: string, entry: Entry): MapTree {
  return { ...tree, entries: new Map(tree.entries).set(name, entry) };
}

/** Plain data for validation. Objects have no prototype; `__proto__` is refused before (see `yaml-tree.ts`). */
export function plain(tree: Tree): unknown {
  if (tree.kind === 'scalar') return tree.value;
  if (tree.kind === 'list') return tree.items.map(plain);
  const object = Object.create(null) as Record<string, unknown>;
  for (const [key, entry] of tree.entries) object[key] = plain(entry.tree);
  return object;
}

/** A value as its author wrote it, for messages. */
export function shown(tree: Tree | undefined): string | null {
  if (tree === undefined || isNull(tree)) return null;
  if (tree.kind === 'scalar') return tree.text;
  return tree.kind === 'list' ? 'a list' : 'a mapping';
}
