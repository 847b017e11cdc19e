import type { Problem } from '../errors.js';
import { merge } from './merge.js';
import { platformPreset, platformPresetNames, peripheralPresets } from './presets.js';
import { problemAt } from './problem.js';
import { nearest } from './nearest.js';
import { type Setting, settled } from './settings.js';
import { suggestion } from './suggestion.js';
import {
  child,
  emptyMap,
  entriesOf,
  isNull,
  shown,
  textOf,
  withEntry,
  type Entry,
  type MapTree,
  type Tree,
} from './tree.js';

/** Where reading collects what it finds. */
export interface Findings {
  readonly problems: Problem[];
  /** Text of every file that was read, by name. */
  readonly sources: Map<string, string>;
}

/** One placement with all its layers merged. */
export interface Layered {
  readonly placement: string;
  readonly tree: MapTree;
}

const BASE = 'base';

/**
 * The systems that a file describes: for each placement the platform preset, the file and the placement laid over one
 * another, and over them what is set from outside; then for each master its peripheral preset or the platform's cores
 * beneath what it says itself.
 */
export function layersOf(file: MapTree, findings: Findings, settings: readonly Setting[] = []): Layered[] {
  const rest = without(file, 'placements');
  const placements = entriesOf(child(file, 'placements'));
  if (placements.length === 0) return [{ placement: BASE, tree: layered(rest, undefined, findings, settings) }];
  return placements.map(([placement, { tree }]) => {
    return { placement, tree: layered(rest, tree.kind === 'map' ? tree : undefined, findings, settings) };
  });
}

/** Where each group or master attaches, instead of what the file says. */
export type Attachment = ReadonlyMap<string, string>;

/** The tree of one more placement: the named one (null: the file as it stands) with groups or masters moved on top. */
export function layersWith(
  file: MapTree,
  placement: string | null,
  attachment: Attachment,
  findings: Findings,
): MapTree {
  const rest = without(file, 'placements');
  const named = placement === null ? undefined : child(child(file, 'placements'), placement);
  const overlay = named?.kind === 'map' ? named : emptyMap(file.place);
  const mayAttach = child(child(file, 'place'), 'may_attach');
  const before = entriesOf(child(overlay, 'attach')).filter(([name]) => !attachment.has(name));
  const moves = [...attachment].map(([name, element]): [string, Entry] => {
    const list = child(mayAttach, name);
    const place =
      (list?.kind === 'list' ? list.items : []).find((item) => textOf(item) === element)?.place ?? file.place;
    return [name, { key: place, tree: { kind: 'scalar', place, value: element, text: element } }];
  });
  const attach: MapTree = { ...emptyMap(overlay.place), entries: new Map([...before, ...moves]) };
  return layered(rest, withEntry(overlay, 'attach', { key: overlay.place, tree: attach }), findings, []);
}

function layered(
  file: MapTree,
  placement: MapTree | undefined,
  findings: Findings,
  settings: readonly Setting[],
): MapTree {
  const { problems } = findings;
  const overlay = placement === undefined ? undefined : withoutStrays(without(placement, 'attach'), file, problems);
  let tree = merge(presetLayer(file, overlay, findings), file, problems) as MapTree;
  if (overlay !== undefined) tree = merge(tree, overlay, problems) as MapTree;
  tree = moved(tree, child(placement, 'attach'), problems);
  tree = settled(tree, settings, problems);
  return withMasters(tree, (master) => furnished(master, tree, findings));
}

function without(tree: MapTree, key: string): MapTree {
  return { ...tree, entries: new Map([...tree.entries].filter(([name]) => name !== key)) };
}

/**
 * A placement may add masters. One that has a name close to a master of the file, and does not say where its requests go,
 * is a slip of the pen: it is told as that, and left out.
 */
function withoutStrays(placement: MapTree, file: MapTree, problems: Problem[]): MapTree {
  const block = placement.entries.get('masters');
  if (block?.tree.kind !== 'map') return placement;
  const known = entriesOf(child(file, 'masters')).map(([name]) => name);
  let masters = block.tree;
  for (const [name, { key, tree }] of block.tree.entries) {
    if (known.includes(name) || child(tree, 'buffer') !== undefined || nearest(name, known) === undefined) continue;
    problems.push(problemAt(key, 'unknown_name', `unknown master '${name}'`, name, suggestion(name, known)));
    masters = without(masters, name);
  }
  return withEntry(placement, 'masters', { ...block, tree: masters });
}

/** The platform preset that the uppermost layer names, as the lowest layer. */
function presetLayer(file: MapTree, placement: MapTree | undefined, findings: Findings): Tree | undefined {
  const named = [placement, file]
    .map((layer) => child(child(layer, 'platform'), 'preset'))
    .find((tree) => tree !== undefined);
  const name = textOf(named);
  if (named === undefined || name === undefined) return undefined;
  const preset = platformPreset(name);
  if (preset === undefined) {
    const hint = suggestion(name, platformPresetNames());
    findings.problems.push(problemAt(named.place, 'unknown_name', 'unknown platform preset', name, hint));
    return undefined;
  }
  findings.sources.set(preset.file, preset.text);
  return preset.tree;
}

/** Applies `attach: {classifier: fabric0}` of a placement to the masters of that group, or to the one of that name. */
function moved(tree: MapTree, attach: Tree | undefined, problems: Problem[]): MapTree {
  let result = tree;
  const masters = entriesOf(child(tree, 'masters'));
  for (const [name, entry] of entriesOf(attach)) {
    const group = masters.filter(([, master]) => textOf(child(master.tree, 'group')) === name);
    const meant = group.length > 0 ? group : masters.filter(([master]) => master === name);
    if (meant.length === 0) {
      const known = [...groupsOf(masters), ...masters.map(([master]) => master)];
      problems.push(problemAt(entry.key, 'unknown_name', 'unknown group or master', name, suggestion(name, known)));
    }
    const names = new Set(meant.map(([master]) => master));
    result = withMasters(result, (master, own) => (names.has(own) ? withEntry(master, 'attach', entry) : master));
  }
  return result;
}

function groupsOf(masters: [string, Entry][]): Set<string> {
  const groups = masters.map(([, { tree }]) => textOf(child(tree, 'group')));
  return new Set(groups.filter((group) => group !== undefined));
}

function withMasters(tree: MapTree, change: (master: MapTree, name: string) => MapTree): MapTree {
  const block = tree.entries.get('masters');
  if (block?.tree.kind !== 'map') return tree;
  const entries = new Map<string, Entry>();
  for (const [name, entry] of block.tree.entries) {
    entries.set(name, entry.tree.kind === 'map' ? { ...entry, tree: change(entry.tree, name) } : entry);
  }
  return withEntry(tree, 'masters', { ...block, tree: { ...block.tree, entries } });
}

/** A master with what its preset, or the platform for its cores, says beneath its own keys. */
function furnished(master: MapTree, system: MapTree, findings: Findings): MapTree {
  const below = peripheralLayer(master, findings);
  const furnishedMaster = below === undefined ? master : layOver(below, master);
  const core = child(furnishedMaster, 'core');
  if (core === undefined || isNull(core)) return furnishedMaster;
  const word = shown(core);
  if (core.kind === 'scalar' && (word === 'no' || word === 'false')) return without(furnishedMaster, 'core');
  if (core.kind === 'scalar' && word !== 'yes' && word !== 'true') return furnishedMaster;
  return withCore(furnishedMaster, core, child(child(system, 'platform'), 'cores'));
}

function peripheralLayer(master: MapTree, findings: Findings): Tree | undefined {
  const named = child(master, 'preset');
  const name = textOf(named);
  if (named === undefined || name === undefined) return undefined;
  const { file, text, fields } = peripheralPresets();
  findings.sources.set(file, text);
  const found = fields.get(name);
  if (found === undefined) {
    const hint = suggestion(name, fields.keys());
    findings.problems.push(problemAt(named.place, 'unknown_name', 'unknown peripheral preset', name, hint));
  }
  return found;
}

const CORE_KEYS = new Set(['l1', 'hit', 'parallelism', 'maintenance', 'barrier']);

function withCore(master: MapTree, core: Tree, cores: Tree | undefined): MapTree {
  const inner: MapTree = {
    ...emptyMap(core.place),
    entries: new Map(entriesOf(cores).filter(([key]) => CORE_KEYS.has(key))),
  };
  const outer: MapTree = {
    ...emptyMap(core.place),
    entries: new Map(entriesOf(cores).filter(([key]) => !CORE_KEYS.has(key))),
  };
  const whole = core.kind === 'map' ? layOver(inner, core) : inner;
  return withEntry(layOver(outer, master), 'core', { key: core.place, tree: whole });
}

/** Merges layers in which no key without value can be left. */
function layOver(lower: Tree, upper: MapTree): MapTree {
  return merge(lower, upper, []) as MapTree;
}
