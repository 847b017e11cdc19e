/** Every kind of mistake that a scenario can hold. The list is closed: programs may tell problems apart by it. */
export const PROBLEM_CODES = [
  'unreadable',
  'empty_file',
  'not_text',
  'duplicate_key',
  'bad_name',
  'unknown_key',
  'missing_key',
  'wrong_type',
  'missing_unit',
  'rounds_to_zero',
  'wrong_unit',
  'out_of_range',
  'unknown_choice',
  'unknown_name',
  'name_clash',
  'conflict',
  'no_route',
  'cycle',
  'outside_memory',
  'overlap',
  'bad_mapping',
  'bad_timing',
  'trace_missing',
  'trace_format',
  'syntax',
  'not_a_mapping',
  'alias_limit',
  'nothing_to_remove',
] as const;

export type ProblemCode = (typeof PROBLEM_CODES)[number];

/** One mistake: where it stands, what the rule is and what to write instead. */
export interface Problem {
  code: ProblemCode;
  file: string;
  /** From 1. */
  line: number;
  /** From 1, in characters. */
  column: number;
  /** The key, as `masters.camera.burst`; empty for the file as a whole. */
  path: string;
  /** Rule and value, as `must be 1 to 256 beats, got 300 beats`. */
  message: string;
  /** The value as it was written; null where there is none. */
  value?: string | null;
  /** What to write instead, as `write e.g. '16 beats'`; empty where there is nothing to add. */
  hint: string;
}

/** A scenario that cannot be read, with all its problems at once. */
export class ScenarioError extends Error {
  override readonly name = 'ScenarioError';

  /** @param sources the texts of the files that were read, by file name, for `formatProblems` */
  constructor(
    readonly problems: readonly Problem[],
    readonly sources: ReadonlyMap<string, string> = new Map(),
  ) {
    super(problems.map(headline).join('\n'));
  }
}

/** The program was called in a wrong way: an option that does not exist, a folder that cannot be written. */
export class UsageError extends Error {
  override readonly name = 'UsageError';
}

/**
 * The problems as text for a person: a line each, then the line of the file and a caret under the place.
 *
 * @param sourceText the text that all problems are about, or one text per file name
 */
export function formatProblems(problems: readonly Problem[], sourceText: string | ReadonlyMap<string, string>): string {
  return problems
    .map((problem) => {
      const text = typeof sourceText === 'string' ? sourceText : sourceText.get(problem.file);
      return [headline(problem), ...excerpt(problem, text)].join('\n');
    })
    .join('\n');
}

function headline({ file, line, column, path, message, hint }: Problem): string {
  const key = path === '' ? '' : `${path}: `;
  return `${file}:${line}:${column}  ${key}${message}${hint === '' ? '' : `; ${hint}`}`;
}

const WIDEST = 120;

/** The line of the file and a caret; nothing where the text is not known or has no such line. */
function excerpt({ line, column }: Problem, text: string | undefined): string[] {
  const source = text?.split(/\r?\n/u)[line - 1];
  if (source === undefined || source.trim() === '' || column > WIDEST) return [];
  const shown = source.length > WIDEST ? `${source.slice(0, WIDEST)}…` : source;
  // tabs stay tabs, so that the caret stands under its place whatever their width
  const indent = shown.slice(0, column - 1).replaceAll(/[^\t]/gu, ' ');
  return [`    ${shown}`, `    ${indent}^`];
}
