import type { Problem, ProblemCode } from '../errors.js';
import type { Place } from './tree.js';

/** A problem at a place; `message` is the rule, to which the value is added unless it is told there already. */
export function problemAt(
  { file, line, column, path }: Place,
  code: ProblemCode,
  message: string,
  value: string | null,
  hint: string,
): Problem {
  const told = value === null || message.includes(', got ') || message.includes(value);
  return {
    code,
    file,
    line,
    column,
    path,
    value,
    message: told ? message : `${message}, got ${shortened(value)}`,
    hint,
  };
}

/** Problems without repeats (placements share what the file says), in the order of the file read first. */
export function inOrder(problems: readonly Problem[], mainFile: string): Problem[] {
  const seen = new Map<string, Problem>();
  for (const problem of problems) {
    const { file, line, column, code, path, message } = problem;
    seen.set(JSON.stringify([file, line, column, code, path, message]), problem);
  }
  const rank = (problem: Problem): number => (problem.file === mainFile ? 0 : 1);
  return [...seen.values()].sort(
    (a, b) => rank(a) - rank(b) || compare(a.file, b.file) || a.line - b.line || a.column - b.column,
  );
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function shortened(value: string): string {
  const flat = value.replace(/\s+/g, ' ');
  return flat.length > 60 ? `${flat.slice(0, 57)}...` : flat;
}
