import { basename } from 'node:path';
import { ScenarioError, type Problem } from '../errors.js';
import { checkPlace } from './check-place.js';
import { parseTree } from './issue-problems.js';
import { layersOf, layersWith, type Attachment, type Findings } from './layers.js';
import { notesOf } from './notes.js';
import { checkKeys, checkName, isMapping, parseSystem } from './parse-system.js';
import { inOrder, problemAt } from './problem.js';
import { resolveSystem, type ReadFile } from './resolve-system.js';
import { attachSchema, fileSchema, placementSchema } from './schema/file.js';
import { placeSchema } from './schema/place.js';
import type { PlaceSpec, Scenario, SystemSpec } from './scenario.js';
import type { Setting } from './settings.js';
import { child, entriesOf, isNull, textOf, type MapTree } from './tree.js';
import { readYaml } from './yaml-tree.js';

/** Access to the files that a scenario names, by the path written there: from the folder of the scenario. */
export interface ScenarioIo {
  readonly readFile: ReadFile;
}

/**
 * Reads a scenario: one system per placement, every default filled, every quantity in its canonical unit.
 *
 * @param input the file, as text or as it is on disk
 * @param fileName for messages, and for the name of the scenario
 * @param settings laid over the file and its placements
 * @throws ScenarioError with all problems of the file, each with its place
 */
export function readScenario(
  input: string | Uint8Array,
  fileName: string,
  io: ScenarioIo,
  settings: readonly Setting[] = [],
): Scenario {
  // bytes that are no UTF-8 become a mark that readYaml refuses
  const text = typeof input === 'string' ? input : new TextDecoder().decode(input);
  const findings: Findings = { problems: [], sources: new Map([[fileName, text]]) };
  const { tree, problems } = readYaml(text, fileName);
  findings.problems.push(...problems);
  const systems = tree === null ? [] : systemsOf(tree, io, findings, settings);
  if (tree === null || findings.problems.length > 0) {
    throw new ScenarioError(inOrder(findings.problems, fileName), findings.sources);
  }
  const name = basename(fileName).replace(/\.ya?ml$/i, '');
  const title = textOf(child(tree, 'title')) ?? name;
  return { name, title, systems, place: placeOf(tree), notes: notesOf(tree, systems) };
}

/** A placement that a search tries: the system, or why there is none. */
export type Assigned = { readonly system: SystemSpec } | { readonly problems: readonly Problem[] };

/**
 * Reads further placements of a scenario that `readScenario` has read without a problem: the named placement (null: the
 * file as it stands) with groups or masters attached elsewhere, through the same layers and checks as a written one.
 */
export function assignmentReader(
  input: string | Uint8Array,
  fileName: string,
  io: ScenarioIo,
  placement: string | null,
): (attachment: Attachment) => Assigned {
  const text = typeof input === 'string' ? input : new TextDecoder().decode(input);
  const { tree } = readYaml(text, fileName);
  if (tree === null) throw new Error(`${fileName} cannot be read`);
  return (attachment) => {
    const findings: Findings = { problems: [], sources: new Map() };
    const parsed = parseSystem(layersWith(tree, placement, attachment, findings), findings.problems);
    const system = resolveSystem(placement ?? 'base', parsed, io.readFile, findings);
    const problems = inOrder(findings.problems, fileName);
    return system === undefined || problems.length > 0 ? { problems } : { system };
  };
}

function placeOf(tree: MapTree): PlaceSpec | null {
  const place = child(tree, 'place');
  if (place === undefined) return null;
  const keys = parseTree(placeSchema, place, [])!;
  return { ...keys, best: { name: 'best', ...keys.best } };
}

function systemsOf(tree: MapTree, io: ScenarioIo, findings: Findings, settings: readonly Setting[]): SystemSpec[] {
  checkPlacements(tree, findings.problems);
  return layersOf(tree, findings, settings).flatMap(({ placement, tree: layered }) => {
    const parsed = parseSystem(layered, findings.problems);
    checkPlace(parsed, findings.problems);
    return resolveSystem(placement, parsed, io.readFile, findings) ?? [];
  });
}

/** The shape of `placements` itself; what is in a placement is checked where it is laid over the file. */
function checkPlacements(file: MapTree, problems: Problem[]): void {
  checkKeys(file, Object.keys(fileSchema.shape), problems);
  const placements = child(file, 'placements');
  if (placements === undefined || !isMapping(placements, problems)) return;
  if (placements.entries.size === 0) {
    problems.push(
      problemAt(placements.place, 'missing_key', 'must name a placement', null, 'add one or delete the key'),
    );
  }
  for (const [name, entry] of placements.entries) {
    checkName(name, entry, problems);
    if (isNull(entry.tree) || !isMapping(entry.tree, problems)) continue;
    checkKeys(entry.tree, Object.keys(placementSchema.shape), problems);
    const attach = child(entry.tree, 'attach');
    if (attach === undefined) continue;
    if (isMapping(attach, problems) && entriesOf(attach).length > 0) parseTree(attachSchema, attach, problems);
  }
}
