import { spawn, type ChildProcess } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const BIN = fileURLToPath(new URL('../../src/cli/bin.ts', import.meta.url));
// so that tsx is found wherever the process stands
const TSX = import.meta.resolve('tsx');

/** What a process left behind. */
export interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

/** The program as a process of its own, with pipes for its output. */
export function launch(argv: readonly string[], readsOutput = true): { child: ChildProcess; ended: Promise<Ended> } {
  const child = spawn(process.execPath, ['--import', TSX, BIN, ...argv], {
    env: { ...process.env, FORCE_COLOR: '1', NO_COLOR: undefined },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let out = '';
  let err = '';
  if (readsOutput) child.stdout.on('data', (part: Buffer) => (out += part.toString()));
  else child.stdout.destroy();
  child.stderr.on('data', (part: Buffer) => (err += part.toString()));
  const ended = new Promise<Ended>((resolve) => child.on('close', (code) => resolve({ code, out, err })));
  return { child, ended };
}
