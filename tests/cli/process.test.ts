import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { put, temporaryFolder, TINY } from './rig.js';

const BIN = fileURLToPath(new URL('../../src/cli/bin.ts', import.meta.url));
// so that tsx is found wherever the process stands
const TSX = import.meta.resolve('tsx');

interface Ended {
  code: number | null;
  out: string;
  err: string;
}

/** The program as a process of its own, with pipes for its output. */
async function start(argv: readonly string[], readsOutput = true): Promise<Ended> {
  const child = spawn(process.execPath, ['--import', TSX, BIN, ...argv], {
    env: { ...process.env, FORCE_COLOR: '1', NO_COLOR: undefined },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let out = '';
  let err = '';
  if (readsOutput) child.stdout.on('data', (part: Buffer) => (out += part.toString()));
  else child.stdout.destroy();
  child.stderr.on('data', (part: Buffer) => (err += part.toString()));
  return await new Promise((resolve) => child.on('close', (code) => resolve({ code, out, err })));
}

test('piped output has no escape codes, even where colours are asked for', async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY);
  const { code, out, err } = await start(['run', path, '--out', folder]);
  expect(out).toContain('tiny, placement direct');
  expect(out).not.toContain('\u001B');
  expect(err).toBe('');
  expect(code).toBe(0);
}, 30_000);

test('a reader that closes the pipe early is no fault', async () => {
  const { code, err } = await start(['schema'], false);
  expect(err).toBe('');
  expect(code).toBe(0);
}, 30_000);
