import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, put, temporaryFolder, TINY } from './rig.js';

const BUDGETED = `${TINY}budgets:
  quick: { kind: latency, master: reader, percentile: 50 %, at_most: 1 us }
  carried: { kind: bandwidth, master: reader, at_least: 10 MB/s }
`;

async function sensitivity(folder: string, text: string, ...options: string[]) {
  const path = put(folder, 'tiny.yaml', text);
  return await call(['sensitivity', path, '--out', folder, ...options]);
}

test('sensitivity writes a row an element of each placement, and says what hangs on it', async () => {
  const folder = temporaryFolder();
  const { code, out } = await sensitivity(folder, BUDGETED, '--workers', '1');
  expect(code).toBe(0);
  const text = readFileSync(join(folder, 'sensitivity.csv'), 'utf8');
  const rows = text.trimEnd().split('\r\n').slice(1);
  expect(new Set(rows.map((row) => row.split(',')[1]))).toEqual(new Set(['direct', 'coherent']));
  for (const placement of ['direct', 'coherent']) {
    expect(rows.filter((row) => row.split(',')[1] === placement).length).toBeGreaterThan(2);
    expect(out).toContain(`Placement ${placement}\n`);
  }
  expect(out).toMatch(/- ddr, busy \d/);
  const again = await sensitivity(folder, BUDGETED, '--workers', '2');
  expect([again.out, readFileSync(join(folder, 'sensitivity.csv'), 'utf8')]).toEqual([out, text]);
});

test('what cannot be followed is told', async () => {
  const folder = temporaryFolder();
  const without = await sensitivity(folder, TINY);
  expect([without.code, without.err]).toEqual([1, expect.stringContaining('tiny has no budget that could hang on')]);
  const unknown = await sensitivity(folder, BUDGETED, '--budget', 'quik');
  expect([unknown.code, unknown.err]).toEqual([2, `--budget: no budget 'quik'; did you mean 'quick'?\n`]);
});
