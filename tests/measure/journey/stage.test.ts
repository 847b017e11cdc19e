import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { STAGES } from '../../../src/measure/journey/stage.js';

test('the guide has every stage with its meaning, in order', () => {
  const guide = readFileSync(new URL('../../../README.md', import.meta.url), 'utf8');
  const rows = STAGES.map(({ name, meaning }) => `| \`${name}\` | ${meaning} |`);
  expect(guide.replaceAll(/ +\|/gu, ' |')).toContain(rows.join('\n'));
});
