import type { Problem } from '../errors.js';
import type { ParsedSystem } from './parse-system.js';
import { linksOf } from './paths.js';
import { problemAt } from './problem.js';
import type { ArbitrationSpec, CoherenceSpec, ElementSpec, SystemSpec } from './scenario.js';
import { suggestion } from './suggestion.js';
import { TREE_HINT, TREE_RULE, waysFit } from './tree-plru.js';
import { child, type Place, type Tree } from './tree.js';

type Entry = ParsedSystem['elements'][number];

/** Checks of elements against what leads to them: names in arbitration, slots, miss entries. */
export function checkElements(parsed: ParsedSystem, system: SystemSpec, problems: Problem[]): void {
  for (const element of system.elements) {
    const entry = parsed.elements.find(({ name }) => name === element.name)!;
    // masters that could not be read lead here all the same
    const masters = parsed.masters.filter(({ keys }) => keys?.attach === element.name).map(({ name }) => name);
    const linked = system.elements.filter((from) => linksOf(from).includes(element.name)).map(({ name }) => name);
    const inputs = [...linked, ...masters];
    checkArbitration(entry, element, inputs, problems);
    if (element.kind === 'coherence') checkLines(entry, element, problems);
    if (element.kind !== 'coherence' || element.minMissEntries * inputs.length <= element.missEntries) continue;
    const rule = `must be at least ${element.minMissEntries} for each of ${inputs.length} requesters`;
    const place = child(entry.tree, 'miss_entries')?.place ?? entry.key;
    problems.push(
      problemAt(place, 'out_of_range', rule, String(element.missEntries), 'raise it or lower min_miss_entries'),
    );
  }
}

/** What the tags of the unit need: lines of whole beats, and a tree over a power of two of ways. */
function checkLines({ tree, key }: Entry, { lineBytes, widthBytes, l2 }: CoherenceSpec, problems: Problem[]): void {
  if (lineBytes % widthBytes !== 0) {
    const place = child(tree, 'line')?.place ?? child(tree, 'width')?.place ?? key;
    const message = `a line must be whole beats of ${8 * widthBytes} bit`;
    problems.push(problemAt(place, 'out_of_range', message, `${lineBytes} B`, 'write a longer line or a lower width'));
  }
  if (waysFit(l2)) return;
  const place = child(child(tree, 'l2'), 'ways')?.place ?? key;
  problems.push(problemAt(place, 'out_of_range', TREE_RULE, String(l2.ways), TREE_HINT));
}

function checkArbitration(
  { tree, key }: Entry,
  element: ElementSpec,
  inputs: readonly string[],
  problems: Problem[],
): void {
  const rules = element.kind === 'device' ? element.discipline : element.arbitration;
  const place = child(tree, 'arbitration')?.place ?? key;
  for (const [name, written] of namesIn(rules, child(tree, 'arbitration'))) {
    if (inputs.includes(name)) continue;
    const message = `unknown input '${name}' of '${element.name}'`;
    problems.push(problemAt(written ?? place, 'unknown_name', message, name, suggestion(name, inputs)));
  }
  if (rules.policy !== 'time_slots') return;
  if (element.kind === 'coherence') {
    const message = 'time_slots would never serve the fills of the unit itself';
    problems.push(problemAt(place, 'conflict', message, null, 'choose another policy'));
    return;
  }
  const idle = inputs.filter((name) => !rules.slots.some(({ input }) => input === name));
  if (idle.length === 0) return;
  const message = `every input must own a slot, ${idle.join(', ')} would wait for ever`;
  problems.push(problemAt(place, 'conflict', message, null, `add e.g. '{input: ${idle[0]!}, cycles: 16 cycles}'`));
}

/** Names of inputs, each with its place. */
function namesIn({ priority, weights, slots }: ArbitrationSpec, tree: Tree | undefined): [string, Place | undefined][] {
  const weighted = child(tree, 'weights');
  return [
    ...priority.map((name, i): [string, Place | undefined] => [name, child(child(tree, 'priority'), i)?.place]),
    ...[...weights.keys()].map((name): [string, Place | undefined] => [
      name,
      weighted?.kind === 'map' ? weighted.entries.get(name)?.key : undefined,
    ]),
    ...slots.flatMap(({ input }, i): [string, Place | undefined][] =>
      input === null ? [] : [[input, child(child(child(tree, 'slots'), i), 'input')?.place]],
    ),
  ];
}
