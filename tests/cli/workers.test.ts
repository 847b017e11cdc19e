import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, namesIn, put, TABLE_FILES, temporaryFolder, TINY } from './rig.js';

const LONG = { timeout: 60_000 };

/** Without a stated warm-up, so that there are pilots as well. */
const UNSETTLED = TINY.replace(', warmup: 1 us', '').replace('replications: 2', 'replications: 3');

/** The tables that a command leaves, by name. */
async function tables(command: string, text: string, workers: number): Promise<Map<string, string>> {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', text);
  const { code, err } = await call([command, path, '--out', join(folder, 'out'), '--workers', `${workers}`]);
  expect([code, err]).toEqual([0, '']);
  const names = namesIn(join(folder, 'out')).filter((name) => name.endsWith('.csv'));
  return new Map(names.map((name) => [name, readFileSync(join(folder, 'out', name), 'utf8')]));
}

test('run leaves the same bytes in every table with 1, 2 and 3 workers', LONG, async () => {
  const one = await tables('run', UNSETTLED, 1);
  expect([...one.keys()]).toEqual(TABLE_FILES);
  for (const workers of [2, 3]) expect(await tables('run', UNSETTLED, workers)).toEqual(one);
});

test('compare leaves the same bytes with 1 and 2 workers', LONG, async () => {
  const text = `${TINY}compare: { mean: { kind: latency, master: reader } }\n`;
  const one = await tables('compare', text, 1);
  expect([...one.keys()]).toEqual(['comparison.csv']);
  expect(await tables('compare', text, 2)).toEqual(one);
});

test('the terminal sees how far a job is that no worker has finished', LONG, async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY.replace('20 us', '10 ms'));
  const seen: string[] = [];
  const terminal = {
    isTTY: true,
    columns: 80,
    write: (text: string) => seen.push(text) > 0,
    on: () => {},
    once: () => {},
    removeListener: () => {},
  } as unknown as NodeJS.WritableStream;
  const argv = ['run', path, '--workers', '2', '--replications', '1', '--out', folder];
  await call(argv, { terminal, nowMs: () => performance.now() });
  expect(seen.join('')).toMatch(/tiny [=.]+ (?:[1-9]|[1-4]\d) %, about \d+ (?:s|min) left/u);
});

test('a number of workers that makes no sense is told', async () => {
  const { code, err } = await call(['run', 'any.yaml', '--workers', '0']);
  expect(code).toBe(2);
  expect(err).toContain('write a whole number of at least 1');
});
