import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { MUTANTS } from './mutants.js';

test.each(MUTANTS)('$name: its place stands once in the sources', ({ file, search, replace }) => {
  const text = readFileSync(new URL(`../../src/${file}`, import.meta.url), 'utf8');
  expect(text.split(search).length - 1).toBe(1);
  expect(replace).not.toBe(search);
});
