import { formatProblems, ScenarioError, type Problem } from '../../src/errors.js';
import { readScenario } from '../../src/scenario/read.js';
import type { Scenario } from '../../src/scenario/scenario.js';

/** Files that a scenario under test may name. */
export type Files = Readonly<Record<string, string>>;

/** Reads a scenario out of text. */
export function read(text: string | Uint8Array, files: Files = {}): Scenario {
  const readFile = (path: string): string => {
    const found = files[path];
    if (found === undefined) throw Object.assign(new Error(path), { code: 'ENOENT' });
    return found;
  };
  return readScenario(text, 'sample.yaml', { readFile });
}

/** The problems of a scenario that must have some. */
export function problemsOf(text: string | Uint8Array, files: Files = {}): readonly Problem[] {
  try {
    read(text, files);
  } catch (error) {
    if (error instanceof ScenarioError) return error.problems;
    throw error;
  }
  throw new Error('the scenario reads without a problem');
}

/** The problems as `line:column code path`, in order. */
export function placesOf(text: string | Uint8Array, files: Files = {}): string[] {
  return problemsOf(text, files).map(({ line, column, code, path }) => `${line}:${column} ${code} ${path}`);
}

/** The sentences as a person sees them. */
export function sentencesOf(text: string, files: Files = {}): string {
  return formatProblems(problemsOf(text, files), text);
}

/** A small platform on which a test changes one thing: one port, one switch, two memories. */
export const SMALL = `platform:
  clocks: { bus: 200 MHz, fast: 400 MHz }
  ports:
    p0: { clock: bus, width: 64 bit, to: cross }
  switches:
    cross: { clock: fast, width: 128 bit, to: [ddr, near] }
  memories:
    ddr: { kind: ddr, clock: fast, width: 128 bit, grade: DDR3-1600K, bus: 32 bit }
    near: { kind: onchip, clock: fast, width: 64 bit, size: 64 KiB, access: 2 cycles }
buffers:
  lines: { memory: ddr, size: 1 MiB }
masters:
  camera: { attach: p0, operations: write, buffer: lines, issue: greedy }
`;

/** The small platform with one piece of its text replaced. */
export function changed(from: string, to: string): string {
  if (!SMALL.includes(from)) throw new Error(`no '${from}' in the small scenario`);
  return SMALL.replace(from, to);
}

/** Where a piece of a text begins, as `line:column`: what a problem about it must say. The piece must be there once. */
export function at(text: string, piece: string): string {
  const offset = text.indexOf(piece);
  if (offset < 0 || text.includes(piece, offset + 1)) throw new Error(`'${piece}' must be in the text once`);
  const before = text.slice(0, offset).split('\n');
  return `${before.length}:${before.at(-1)!.length + 1}`;
}
