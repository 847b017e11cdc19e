import { expect, test } from 'vitest';
import { launch } from './launch.js';
import { put, temporaryFolder, TINY } from './rig.js';

test('piped output has no escape codes, even where colours are asked for', async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY);
  const { code, out, err } = await launch(['run', path, '--out', folder]).ended;
  expect(out).toContain('tiny, placement direct');
  expect(out).not.toContain('\u001B');
  expect(err).toBe('');
  expect(code).toBe(0);
}, 30_000);

test('a reader that closes the pipe early is no fault', async () => {
  const { code, err } = await launch(['schema'], false).ended;
  expect(err).toBe('');
  expect(code).toBe(0);
}, 30_000);
