import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { INVARIANTS } from './all.js';
import { recheck } from './soak-run.js';

/** Scenarios that once broke an invariant, each below a comment that says what was wrong. */
const FOLDER = new URL('./kept/', import.meta.url);
const files = readdirSync(FOLDER).toSorted((a, b) => (a < b ? -1 : 1));

test.each(files)('%s breaks no invariant any more', (file) => {
  const text = readFileSync(new URL(file, FOLDER), 'utf8');
  expect(text).toMatch(/^# \S/);
  expect(recheck(text, INVARIANTS)).toBeNull();
});
