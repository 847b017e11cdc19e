import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, put, temporaryFolder, TINY, type Outcome } from './rig.js';

async function runWith(line: string, ...options: string[]): Promise<Outcome & { csv: string; notes: string[] }> {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', `${TINY}budgets:\n  b: { ${line} }\n`);
  const out = join(folder, 'out');
  const outcome = await call(['run', path, '--out', out, '--placement', 'direct', ...options]);
  const { notes } = JSON.parse(readFileSync(join(out, 'manifest.json'), 'utf8')) as { notes: string[] };
  return { ...outcome, csv: readFileSync(join(out, 'budgets.csv'), 'utf8'), notes };
}

const verdictsOf = (csv: string): string[] =>
  csv
    .trimEnd()
    .split('\r\n')
    .slice(1)
    .map((row) => row.split(',').slice(2, 3).concat(row.split(',').slice(9)).join(' '));

test('a run that meets its budgets ends with 0, and tells them first', async () => {
  const { code, out, csv } = await runWith('kind: utilisation, element: ddr, at_most: 90 %');
  expect(code).toBe(0);
  expect(out.startsWith('Budgets\n')).toBe(true);
  expect(out).toContain('placement direct meets all its budgets');
  expect(verdictsOf(csv)).toEqual(['1 ', '2 ', 'all met']);
});

test('a run that misses one ends with 1', async () => {
  const { code, csv } = await runWith('kind: bandwidth, master: reader, at_least: 9 GB/s');
  expect(code).toBe(1);
  expect(verdictsOf(csv).at(-1)).toBe('all missed');
});

test('a run that decides nothing ends with 3, and says why', async () => {
  const line = 'kind: utilisation, element: ddr, at_most: 90 %';
  const { code, out, csv, notes } = await runWith(line, '--replications', '1');
  expect(code).toBe(3);
  expect(verdictsOf(csv).at(-1)).toBe('all undecided');
  expect(out.replaceAll(/\s+/gu, ' ')).toContain('budget b is undecided in placement direct: one replication');
  expect(notes).toContainEqual(expect.stringContaining('budget b is undecided'));
});

test('no misses at all are never met', async () => {
  const line = 'kind: latency, master: reader, percentile: 100 %, at_most: 1 ms';
  const { code, csv } = await runWith(line);
  expect(code).toBe(3);
  expect(csv).toMatch(/"none in \d+, misses in at most 77\.6 % of runs"/u);
});

test('budgets leave the other tables as they are', async () => {
  const tables = async (extra: string): Promise<string> => {
    const folder = temporaryFolder();
    const path = put(folder, 'tiny.yaml', TINY + extra);
    await call(['run', path, '--out', join(folder, 'out')]);
    return readFileSync(join(folder, 'out', 'latency.csv'), 'utf8');
  };
  const budget = 'budgets: { b: { kind: latency, master: reader, percentile: 99 %, at_most: 200 ns } }\n';
  expect(await tables(budget)).toBe(await tables(''));
});
