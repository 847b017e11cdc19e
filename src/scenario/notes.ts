import type { SystemSpec } from './scenario.js';
import { child, textOf, type MapTree } from './tree.js';

/** What a reader of the results should know that is not an error, once for all placements. */
export function notesOf(file: MapTree, systems: readonly SystemSpec[]): string[] {
  const notes = new Set<string>();
  const preset = textOf(child(child(file, 'platform'), 'preset'));
  if (preset !== undefined)
    notes.add(`the numbers of preset ${preset} are assumed, after common practice; put in those of your chip`);
  for (const system of systems) for (const note of systemNotes(system)) notes.add(note);
  return [...notes];
}

function* systemNotes({ buffers, masters, tasks, elements, run }: SystemSpec): Generator<string> {
  for (const { name } of buffers) {
    const asked = tasks.some(({ steps }) => steps.some((step) => 'part' in step && step.part.buffer === name));
    if (!asked && !masters.some(({ buffer }) => buffer === name)) yield `no master uses buffer ${name}`;
  }
  for (const element of elements) {
    if (!('writeResponse' in element) || element.writeResponse === 'final') continue;
    yield `${element.name} answers writes early: what relies on the answer may overtake the data`;
  }
  for (const { name, startPs } of masters) {
    if (run.warmupPs !== null && startPs >= run.warmupPs + run.durationPs)
      yield `${name} starts after the end of the run`;
  }
}
