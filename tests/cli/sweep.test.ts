import { existsSync, readFileSync, rmSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, put, temporaryFolder, TINY, type Outcome } from './rig.js';

const VARY = [
  '--vary',
  'masters.reader.burst=4 beats,8 beats',
  '--vary',
  'buffers.samples.size=16 KiB..64 KiB times 2',
];

async function sweep(folder: string, text: string, ...options: string[]): Promise<Outcome> {
  return call(['sweep', put(folder, 'tiny.yaml', text), '--out', join(folder, 'out'), ...options]);
}

const table = (folder: string, name = 'sweep.csv'): string[][] =>
  readFileSync(join(folder, 'out', name), 'utf8')
    .trimEnd()
    .split('\r\n')
    .map((row) => row.split(','));

test('a grid: a row a metric, placement and point, with a column a key', async () => {
  const folder = temporaryFolder();
  const { code, out, err } = await sweep(folder, TINY, ...VARY);
  expect([code, err]).toEqual([0, '']);
  expect(out).toContain('6 of 6 points over masters.reader.burst, buffers.samples.size.');
  const [header, ...rows] = table(folder);
  expect(header!.slice(0, 6)).toEqual([
    'scenario',
    'placement',
    'replication',
    'masters.reader.burst_beats',
    'buffers.samples.size_bytes',
    'metric',
  ]);
  expect(rows).toHaveLength(6 * 2 * 3);
  expect(rows[0]!.slice(0, 6)).toEqual(['tiny', 'direct', 'all', '4', '16384', 'reader read burst mean_ns']);
  const manifest = JSON.parse(readFileSync(join(folder, 'out', 'sweep.json'), 'utf8')) as Record<string, unknown>;
  expect(manifest).toMatchObject({ scenario: 'tiny', placements: ['direct', 'coherent'], scenario_text: TINY });
  expect(manifest['command']).toContain("'masters.reader.burst=4 beats,8 beats' ");
  // each point as `run` gives it
  const longer = put(folder, 'longer.yaml', TINY.replace('size: 64 KiB', 'size: 32 KiB'));
  await call(['run', longer, '--out', join(folder, 'run')]);
  const own = readFileSync(join(folder, 'run', 'latency.csv'), 'utf8')
    .split('\r\n')
    .map((row) => row.split(','));
  const pooled = own.find((row) => row[1] === 'coherent' && row[2] === 'all' && row.includes('burst'))!;
  const mean = pooled[own[0]!.indexOf('mean_ns')]!;
  const row = rows.find((one) => one[1] === 'coherent' && one[3] === '8' && one[4] === '32768')!;
  expect(Number(row[6])).toBeCloseTo(Number(mean), 2);
});

test('a sweep that was stopped goes on with --resume, simulates no point twice and leaves the same bytes', async () => {
  const folder = temporaryFolder();
  await sweep(folder, TINY, ...VARY);
  const whole = readFileSync(join(folder, 'out', 'sweep.csv'), 'utf8');
  const points = join(folder, 'out', 'points');
  const names = readdirSync(points).toSorted();
  expect(names).toHaveLength(6);
  for (const name of names.slice(0, 2)) rmSync(join(points, name));
  const written: string[] = [];
  const { processIo } = await import('../../src/cli/io.js');
  const io = processIo();
  const argv = ['sweep', join(folder, 'tiny.yaml'), '--out', join(folder, 'out'), ...VARY, '--resume'];
  const { out } = await call(argv, {
    writeFile: (path, text) => {
      if (path.startsWith(points)) written.push(path);
      io.writeFile(path, text);
    },
  });
  expect(out).toContain('4 of them were finished before');
  expect(written.toSorted()).toEqual(names.slice(0, 2).map((name) => join(points, name)));
  expect(readFileSync(join(folder, 'out', 'sweep.csv'), 'utf8')).toBe(whole);
  // other replications are another sweep
  const { out: other } = await sweep(folder, TINY, ...VARY, '--resume', '--replications', '3');
  expect(other).not.toContain('finished before');
});

test('Ctrl-C keeps the points that are finished', async () => {
  const folder = temporaryFolder();
  let stop = (): void => {};
  let kept = 0;
  const { processIo } = await import('../../src/cli/io.js');
  const io = processIo();
  const path = put(folder, 'tiny.yaml', TINY.replace('20 us', '3 ms'));
  const out = join(folder, 'out');
  const argv = ['sweep', path, '--out', out, '--vary', 'masters.reader.outstanding=1..8 by 1', '--replications', '4'];
  const outcome = await call(argv, {
    onInterrupt: (listener) => {
      stop = listener;
      return () => {};
    },
    writeFile: (name, text) => {
      io.writeFile(name, text);
      if (name.includes('points') && ++kept === 2) stop();
    },
  });
  expect(outcome.code).toBe(130);
  expect(outcome.err).toMatch(/stopped: [2-7] of 8 points are kept; go on with --resume/u);
  expect(outcome.out).toMatch(/[2-7] of 8 points/u);
  const resumed = await call([...argv, '--resume']);
  expect(resumed.out).toMatch(/8 of 8 points.*[2-7] of them were finished before/u);
});

test('samples fill the ranges, and the seed decides them', async () => {
  const folder = temporaryFolder();
  await sweep(
    folder,
    TINY,
    '--vary',
    'masters.reader.outstanding=1..16',
    'masters.reader.burst=1 beats..16 beats',
    '--samples',
    '8',
    '--placement',
    'direct',
  );
  const rows = table(folder).slice(1);
  expect(rows).toHaveLength(8 * 3);
  expect(new Set(rows.map((row) => row[3])).size).toBeGreaterThan(6);
});

test('what cannot be swept is told before the work', async () => {
  const tries: [string[], number, string][] = [
    [['--vary', 'buffers.sampels.size=1 KiB'], 1, "there is no 'sampels' in buffers"],
    [['--vary', 'buffers.samples.size=1 KiB,7'], 1, 'buffers.samples.size=7:1:1'],
    [['--vary', 'size'], 2, 'does not say which values'],
    [['--vary', 'masters.reader.burst=1 beats', 'masters.reader.burst=2 beats'], 2, 'varied twice'],
    [['--vary', 'masters.reader.burst=1 beats,2 beats', '--crossing', 'mean'], 2, 'one key over a range'],
    [
      ['--vary', 'masters.reader.burst=1 beats..8 beats', '--crossing', 'speed'],
      2,
      "unknown metric 'speed'; there are: 'reader read burst mean_ns'",
    ],
    [[], 2, '--vary'],
  ];
  for (const [options, code, words] of tries) {
    const folder = temporaryFolder();
    const outcome = await sweep(folder, TINY, ...options);
    expect([outcome.code, outcome.out], words).toEqual([code, '']);
    expect(outcome.err).toContain(words);
    expect(existsSync(join(folder, 'out'))).toBe(false);
  }
});

test('a crossing that is none is told as that, in a table and in words', async () => {
  const folder = temporaryFolder();
  const text = TINY.replace('20 us', '100 us');
  const { code, out } = await sweep(
    folder,
    text,
    '--vary',
    'masters.reader.outstanding=2..6',
    '--crossing',
    'reader read burst mean_ns',
  );
  expect(code).toBe(0);
  expect(out).toContain('From 2 to 6 there is no change: coherent is better');
  expect(table(folder, 'crossing.csv')[1]!.at(-1)).toBe('no_change');
});
