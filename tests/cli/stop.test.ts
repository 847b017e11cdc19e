import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { expect, test } from 'vitest';
import { launch, type Ended } from './launch.js';
import { call, put, TABLE_FILES, temporaryFolder, TINY } from './rig.js';

const LONG = { timeout: 180_000 };

interface Stop extends Ended {
  readonly folder: string;
  /** From Ctrl-C to the end of the process. */
  readonly tookMs: number;
  /** What is allowed for it: a second, and more where the machine is too busy for even an empty process. */
  readonly limitMs: number;
}

/** About what an empty process takes where nothing else runs. */
const EMPTY_MS = 100;

/** A second of a machine that does nothing else. */
function secondMs(): number {
  const started = performance.now();
  spawnSync(process.execPath, ['-e', '0']);
  return 1000 * Math.max(1, (performance.now() - started) / EMPTY_MS);
}

/** A run as a process of its own that gets Ctrl-C so long after it has begun to work. */
async function stopped(text: string, workers: number, afterMs: number): Promise<Stop> {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', text);
  const out = join(folder, 'out');
  const { child, ended } = launch(['run', path, '--out', out, '--workers', `${workers}`]);
  // the manifest is written before the work
  while (!existsSync(join(out, 'manifest.json')) && child.exitCode === null) await setTimeout(20);
  await setTimeout(afterMs);
  const sent = performance.now();
  child.kill('SIGINT');
  const end = await ended;
  const tookMs = performance.now() - sent;
  return { ...end, folder: out, tookMs, limitMs: secondMs() };
}

/** The same, later where nothing was finished before, and again where a busy machine took its time to end. */
async function stoppedMidway(text: string, workers: number): Promise<Stop> {
  let last: Stop | null = null;
  let afterMs = 1500;
  for (let tries = 0; tries < 8; tries++) {
    const stop = await stopped(text, workers, afterMs);
    expect(stop.code, stop.err).toBe(130);
    if (stop.out === '') afterMs *= 2;
    else last = stop;
    if (last !== null && last.tookMs < last.limitMs) break;
  }
  return last!;
}

/** Far more replications than anybody waits for, so long that a few are finished soon. */
const MANY = TINY.replace('20 us', '3 ms').replace('replications: 2', 'replications: 900');

test.each([1, 2])(
  'run with %i workers: whole replications are kept, as a shorter run would have them',
  LONG,
  async (workers) => {
    const { folder, out, err, tookMs, limitMs } = await stoppedMidway(MANY, workers);
    expect(tookMs).toBeLessThan(limitMs);
    const [, kept] = /stopped: the tables are of the (\d+) replications that were finished/u.exec(err)!;
    expect(Number(kept)).toBeLessThan(900);
    expect(out).toContain(`- stopped after ${kept} of 900 replications`);
    const manifest = JSON.parse(readFileSync(join(folder, 'manifest.json'), 'utf8')) as Record<string, unknown>;
    expect(manifest['replications']).toBe(Number(kept));
    expect(manifest['warnings']).toContainEqual({ text: `stopped after ${kept} of 900 replications`, count: 1 });
    if (Number(kept) === 1) return;
    const other = temporaryFolder();
    await call(['run', put(other, 'tiny.yaml', MANY), '--out', other, '--replications', kept!]);
    for (const name of TABLE_FILES) {
      expect(readFileSync(join(folder, name), 'utf8'), name).toBe(readFileSync(join(other, name), 'utf8'));
    }
  },
);

test.each([1, 2])(
  'run with %i workers, stopped in the first replication: nothing is kept, and that is said',
  LONG,
  async (workers) => {
    const { folder, out, err, code, tookMs } = await stopped(TINY.replace('20 us', '100 s'), workers, 1500);
    expect([code, out, err]).toEqual([130, '', 'stopped before there was a result: nothing is kept\n']);
    expect(readFileSync(join(folder, 'manifest.json'), 'utf8')).toBe('{ "state": "stopped" }\n');
    expect(existsSync(join(folder, 'latency.csv'))).toBe(false);
    expect(tookMs).toBeLessThan(10_000);
  },
);

test('compare, stopped before the first look: nothing is kept, and that is said', async () => {
  const folder = temporaryFolder();
  const onInterrupt = (listener: () => void): (() => void) => {
    listener();
    return () => {};
  };
  const argv = ['compare', put(folder, 'tiny.yaml', TINY), '--out', folder, '--workers', '2'];
  const { code, out, err } = await call(argv, { onInterrupt });
  expect([code, out, err]).toEqual([130, '', 'stopped before there was a result: nothing is kept\n']);
});
