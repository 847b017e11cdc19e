import { describe, expect, test } from 'vitest';
import { sourceFiles } from './source-files.js';

/** What would make a result depend on the time, the place or the history of the process, each with an example. */
const FORBIDDEN: [what: string, pattern: RegExp, example: string][] = [
  ['unseeded draws', /\bMath\s*(\.|\[['"])random\b/u, 'const x = Math.random();'],
  ['a generator without a seed', /\bseedrandom(\.\w+)?\(\s*\)/u, 'const draw = seedrandom();'],
  ['draws of the system', /\b(randomUUID|randomBytes|randomInt|getRandomValues)\b/u, 'crypto.getRandomValues(a);'],
  ['the date', /\bDate\s*\.\s*now\b/u, 'const at = Date.now();'],
  ['a date', /\bnew\s+Date\b/u, 'const at = new Date();'],
  ['the clock of the process', /\bperformance\s*\.\s*now\b|\bhrtime\b/u, 'const at = performance.now();'],
  ['the order of letters of a country', /\blocaleCompare\b|\bIntl\./u, 'names.sort((a, b) => a.localeCompare(b));'],
  ['the numbers of a country', /\btoLocale\w*\b/u, 'return value.toLocaleString();'],
  ['state of a module', /^(export\s+)?(let|var)\s/u, 'let count = 0;'],
];

/** Lines of a text that hold what is forbidden, numbered from 1. */
function linesWith(pattern: RegExp, text: string): number[] {
  return text.split('\n').flatMap((line, i) => (pattern.test(line) ? [i + 1] : []));
}

const files = [...sourceFiles()].filter(([path]) => !path.startsWith('cli/'));

describe.each(FORBIDDEN)('%s', (_what, pattern, example) => {
  test('are nowhere in src outside cli', () => {
    const found = files.flatMap(([path, text]) => linesWith(pattern, text).map((line) => `${path}:${line}`));
    expect(found).toEqual([]);
  });

  test('would be found', () => {
    expect(linesWith(pattern, `// first line\n${example}\n`)).toEqual([2]);
  });
});

test('a variable inside a function is no state of a module', () => {
  const [, state] = FORBIDDEN.at(-1)!;
  expect(linesWith(state, 'function f() {\n  let sum = 0;\n}\nexport let shared = 1;\n')).toEqual([4]);
});

test('the sources are read', () => {
  expect(files.length).toBeGreaterThan(100);
});
