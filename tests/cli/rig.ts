import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { processIo, type Io } from '../../src/cli/io.js';
import type { Loader } from '../../src/cli/loader.js';
import { main } from '../../src/cli/main.js';

/** What one call of the program left behind. */
export interface Outcome {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

const LOADER: Loader = { short: () => import('../../src/cli/short.js'), long: (load) => load() };

/** Calls the program with the files of the real world, but without its terminal. */
export async function call(argv: readonly string[], changes: Partial<Io> = {}): Promise<Outcome> {
  const out: string[] = [];
  const err: string[] = [];
  const io: Io = {
    ...processIo(),
    out: (text) => out.push(text),
    err: (text) => err.push(text),
    nowMs: () => 0,
    columns: null,
    terminal: null,
    paint: (_tone, text) => text,
    processors: 1,
    ...changes,
  };
  const code = await main(argv, io, LOADER);
  return { code, out: out.join(''), err: err.join('') };
}

/** A folder of its own for a test, gone when the test is over. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'burstyard-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** Two placements of one random reader, for 20 us. */
export const TINY = `title: two ways of one reader
platform: { preset: quad-core-fabric }
buffers:
  samples: { memory: ddr, size: 64 KiB, cached: no }
masters:
  reader:
    attach: fabric0
    burst: 8 beats
    operations: read
    buffer: samples
    issue: { process: poisson, rate: 100 MB/s }
run: { seed: 1, replications: 2, duration: 20 us, warmup: 1 us }
placements:
  direct: {}
  coherent: { attach: { reader: coherent0 } }
`;

/** Puts a file into the folder and answers its path. */
export function put(folder: string, name: string, content: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

/** All files that a run writes, in order. */
export const RESULT_FILES = [
  'blame.csv',
  'budgets.csv',
  'cache.csv',
  'distribution.csv',
  'latency.csv',
  'manifest.json',
  'memory.csv',
  'queues.csv',
  'resources.csv',
  'stages.csv',
  'tasks.csv',
  'timeline.csv',
];
export const TABLE_FILES = RESULT_FILES.filter((name) => name.endsWith('.csv'));

/** Names in a folder, in order. */
export function namesIn(folder: string): string[] {
  return readdirSync(folder).toSorted();
}

/** A line of a JavaScript stack. */
export const STACK = /^\s+at .+:\d+/mu;
