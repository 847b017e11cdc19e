import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { INVARIANTS } from './all.js';
import { recheck } from './soak-run.js';

/**
 * Scenarios that once broke an invariant, each below a comment that says what was wrong, and such as show a fault of `MUTANTS`
 * that few random platforms show.
 */
const FOLDERS = ['./kept/', './planted/'].map((name) => new URL(name, import.meta.url));
const files = FOLDERS.flatMap((folder) =>
  readdirSync(folder)
    .toSorted((a, b) => (a < b ? -1 : 1))
    .map((file) => ({ file, path: new URL(file, folder) })),
);

test.each(files)('$file breaks no invariant', ({ path }) => {
  const text = readFileSync(path, 'utf8');
  expect(text).toMatch(/^# \S/);
  expect(recheck(text, INVARIANTS)).toBeNull();
});
