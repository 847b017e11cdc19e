import { readFileSync, writeFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { keyReference } from '../../src/scenario/key-reference.js';

const FILE = new URL('../../scenarios/README.md', import.meta.url);
const MARK = '<!-- from here on generated from the schema: UPDATE=1 npx vitest run tests/scenario -->';

it('scenarios/README.md ends with the reference of every key, as the schema has it', () => {
  const [written, generated] = readFileSync(FILE, 'utf8').split(MARK);
  const fresh = `\n\n${keyReference().trim()}\n`;
  if (process.env['UPDATE'] === '1') writeFileSync(FILE, `${written}${MARK}${fresh}`);
  else expect(generated).toBe(fresh);
});

it('the reference names every key that explain knows, with its meaning', () => {
  const text = keyReference();
  for (const key of [
    'masters',
    'outstanding',
    'ageing',
    'bank_hash',
    'partial_write',
    'when_full',
    'read_share',
    'warmup',
  ]) {
    expect(text).toContain(key);
  }
});
