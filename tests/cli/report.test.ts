import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, put, temporaryFolder, TINY } from './rig.js';

test('a run leaves all that its report needs: the scenario file may go', async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY);
  const out = join(folder, 'out');
  expect((await call(['run', path, '--out', out, '--seed', "it's"])).code).toBe(0);
  put(folder, 'tiny.yaml', 'title: another\n');
  const { code, out: said, err } = await call(['report', out]);
  expect({ code, said, err }).toEqual({ code: 0, said: `Report in ${join(out, 'report.html')}\n`, err: '' });
  const page = readFileSync(join(out, 'report.html'), 'utf8');
  expect(page).toContain('two ways of one reader');
  expect(page).toContain(`tiny.yaml --seed &#39;it&#39;\\&#39;&#39;s&#39;</pre`);
  const again = join(folder, 'again.html');
  expect((await call(['report', out, '--out', again])).code).toBe(0);
  expect(readFileSync(again, 'utf8')).toBe(page);
});

test('a folder that is not there, holds no table, or one that is broken is told in a sentence', async () => {
  const folder = temporaryFolder();
  const missing = await call(['report', join(folder, 'none')]);
  expect(missing.code).toBe(1);
  expect(missing.err).toBe(`there is no folder ${join(folder, 'none')}; give the folder of a run\n`);
  const empty = await call(['report', folder]);
  expect(empty.code).toBe(1);
  expect(empty.err).toContain(`${folder}: it holds no table with rows`);
  put(folder, 'latency.csv', 'a,b\n1\n');
  const broken = await call(['report', folder]);
  expect(broken.code).toBe(1);
  expect(broken.err).toContain('latency.csv cannot be read: CSV record 2');
});
