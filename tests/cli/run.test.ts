import { createHash } from 'node:crypto';
import { closeSync, mkdirSync, openSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { PassThrough } from 'node:stream';
import { expect, test } from 'vitest';
import { processIo } from '../../src/cli/io.js';
import { call, namesIn, put, RESULT_FILES, TABLE_FILES, temporaryFolder, TINY, type Outcome } from './rig.js';

async function runTiny(folder: string, out: string, ...options: string[]): Promise<Outcome> {
  const path = put(folder, 'tiny.yaml', TINY);
  return await call(['run', path, '--out', join(folder, out), ...options]);
}

const table = (folder: string, out: string, name = 'latency.csv') => readFileSync(join(folder, out, name), 'utf8');

/** The distinct values of a column. */
function valuesOf(csv: string, column: string): string[] {
  const [header, ...rows] = csv.trimEnd().split('\r\n');
  const place = header!.split(',').indexOf(column);
  return [...new Set(rows.map((row) => row.split(',')[place]!))];
}

test('a run writes every table and the manifest, leaves no temporary name, and tells where they are', async () => {
  const folder = temporaryFolder();
  const { code, out, err } = await runTiny(folder, 'made/here');
  expect(code).toBe(0);
  expect(err).toBe('');
  expect(namesIn(join(folder, 'made/here'))).toEqual(RESULT_FILES);
  expect(out).toContain('tiny, placement direct');
  expect(out.endsWith(`\nTables in ${join(folder, 'made/here')}\n`)).toBe(true);
});

test('the manifest names the scenario by the hash of its bytes, with placements, seed and replications', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'out');
  const manifest: unknown = JSON.parse(table(folder, 'out', 'manifest.json'));
  expect(manifest).toMatchObject({
    scenario: 'tiny',
    scenario_file: join(folder, 'tiny.yaml'),
    scenario_sha256: createHash('sha256').update(TINY).digest('hex'),
    placements: ['direct', 'coherent'],
    seed: '1',
    replications: 2,
    wall_time_ms: 0,
  });
});

test('a second run gives the same bytes in every table, also over the tables of another run', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'a');
  await runTiny(folder, 'b', '--seed', 'other');
  const again = await runTiny(folder, 'b');
  expect(again.code).toBe(0);
  for (const name of TABLE_FILES) expect(table(folder, 'b', name), name).toBe(table(folder, 'a', name));
});

test('--seed changes the tables and stands in the manifest', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'a');
  await runTiny(folder, 'b', '--seed', 'other');
  expect(table(folder, 'b')).not.toBe(table(folder, 'a'));
  expect(table(folder, 'b', 'manifest.json')).toContain('"seed": "other"');
});

test('the seed of the scenario given again as --seed changes nothing', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'a');
  await runTiny(folder, 'b', '--seed', '1');
  for (const name of TABLE_FILES) expect(table(folder, 'b', name), name).toBe(table(folder, 'a', name));
});

test('--placement selects, and the rows of what is left stay as they are without it', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'all');
  await runTiny(folder, 'one', '--placement', 'coherent');
  expect(valuesOf(table(folder, 'all'), 'placement')).toEqual(['direct', 'coherent']);
  expect(valuesOf(table(folder, 'one'), 'placement')).toEqual(['coherent']);
  const rows = table(folder, 'one').split('\r\n').slice(1, -1);
  expect(table(folder, 'all').split('\r\n')).toEqual(expect.arrayContaining(rows));
});

test('--replications overrides the scenario, and the pooled row stands beside each', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'three', '--replications', '3');
  expect(valuesOf(table(folder, 'three'), 'replication')).toEqual(['1', '2', '3', 'all']);
});

test('--commands adds the DRAM commands of the first replication of each placement, and changes nothing else', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'plain');
  const { code } = await runTiny(folder, 'logged', '--commands');
  expect(code).toBe(0);
  expect(namesIn(join(folder, 'logged'))).toEqual([...RESULT_FILES, 'commands.csv'].toSorted());
  for (const name of TABLE_FILES) expect(table(folder, 'logged', name), name).toBe(table(folder, 'plain', name));
  const commands = table(folder, 'logged', 'commands.csv');
  expect(valuesOf(commands, 'placement')).toEqual(['direct', 'coherent']);
  expect(valuesOf(commands, 'replication')).toEqual(['1']);
  expect(valuesOf(commands, 'command')).toEqual(expect.arrayContaining(['activate', 'read', 'refresh']));
  await runTiny(folder, 'again', '--commands');
  expect(table(folder, 'again', 'commands.csv')).toBe(commands);
});

test('without --out the tables go to a folder in results with the name of the scenario', async () => {
  const path = put(temporaryFolder(), 'tiny.yaml', TINY);
  const written = new Set<string>();
  const { code, out } = await call(['run', path], { writeFile: (name) => void written.add(name) });
  expect(code).toBe(0);
  expect([...written].map((name) => basename(name)).toSorted()).toEqual(RESULT_FILES);
  for (const name of written) expect(name.startsWith(join('results', 'tiny'))).toBe(true);
  expect(out).toContain(`Tables in ${join('results', 'tiny')}\n`);
});

test('the manifest says that the run goes on until all tables are there', async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY);
  const writes: [name: string, text: string][] = [];
  await call(['run', path, '--out', folder], { writeFile: (name, text) => void writes.push([basename(name), text]) });
  expect(writes[0]).toEqual(['manifest.json', '{ "state": "running" }\n']);
  expect(writes.at(-1)![0]).toBe('manifest.json');
  expect(JSON.parse(writes.at(-1)![1])).not.toHaveProperty('state');
  expect(
    writes
      .slice(1, -1)
      .map(([name]) => name)
      .toSorted(),
  ).toEqual(TABLE_FILES);
});

test('progress goes to the terminal alone, and only when the work takes long', async () => {
  const path = put(temporaryFolder(), 'tiny.yaml', TINY);
  const shown = async (msPerLook: number): Promise<string> => {
    const terminal = Object.assign(new PassThrough(), { isTTY: true, columns: 80, cursorTo() {}, clearLine() {} });
    let now = 0;
    const { code, out, err } = await call(['run', path], {
      writeFile: () => {},
      terminal,
      nowMs: () => (now += msPerLook),
    });
    expect(code).toBe(0);
    expect(out + err).not.toContain('left');
    return String(terminal.read() ?? '');
  };
  expect(await shown(0)).toBe('');
  expect(await shown(1000)).toContain('tiny ');
});

test('a file that stands in the way of a table stays, and nothing half-written is left beside it', async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY);
  mkdirSync(join(folder, 'out', 'latency.csv', 'kept'), { recursive: true });
  const { code, err } = await call(['run', path, '--out', join(folder, 'out')]);
  expect(code).toBe(1);
  expect(err).toContain('choose another folder with --out');
  expect(namesIn(join(folder, 'out'))).toEqual(['latency.csv', 'manifest.json']);
  expect(namesIn(join(folder, 'out', 'latency.csv'))).toEqual(['kept']);
  expect(table(folder, 'out', 'manifest.json')).toContain('running');
});

test('a file is replaced whole: who has opened the old one still reads all of it', () => {
  const folder = temporaryFolder();
  const path = put(folder, 'table.csv', 'old');
  const opened = openSync(path, 'r');
  processIo().writeFile(path, 'new');
  expect(readFileSync(opened, 'utf8')).toBe('old');
  closeSync(opened);
  expect(readFileSync(path, 'utf8')).toBe('new');
  expect(namesIn(folder)).toEqual(['table.csv']);
});

test('--bursts and what narrows it down add bursts.csv, and change nothing else', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'plain');
  const { code } = await runTiny(folder, 'logged', '--bursts-slowest', '3', '--bursts-of', 'reader read');
  expect(code).toBe(0);
  expect(namesIn(join(folder, 'logged'))).toEqual([...RESULT_FILES, 'bursts.csv'].toSorted());
  for (const name of TABLE_FILES) expect(table(folder, 'logged', name), name).toBe(table(folder, 'plain', name));
  const rows = table(folder, 'logged', 'bursts.csv').trimEnd().split('\r\n').slice(1);
  expect(rows).toHaveLength(6);
  await runTiny(folder, 'all', '--bursts');
  expect(table(folder, 'all', 'bursts.csv').split('\r\n')).toEqual(expect.arrayContaining(rows));
});

test.each([
  [['--bursts-of', 'raeder'], `--bursts-of: no master 'raeder'; did you mean 'reader'?`],
  [
    ['--bursts-between', '10'],
    `--bursts-between: must be two times from the start of the run, the earlier first, got '10'`,
  ],
  [['--bursts-between', '9us..3us'], `got '9us..3us'; write e.g. '1510us..1520us'`],
  [['--bursts-between', '3..9us'], `got '3..9us'`],
  [['--bursts-slowest', '0'], 'write a whole number of at least 1'],
])('%j is told as wrong usage', async (options, sentence) => {
  const folder = temporaryFolder();
  const { code, err } = await runTiny(folder, 'none', ...options);
  expect(code).toBe(2);
  expect(err).toContain(sentence);
});

test('--wave writes a dump of a span to the file named, the same bytes each time, and changes nothing else', async () => {
  const folder = temporaryFolder();
  await runTiny(folder, 'plain');
  const wave = (name: string): string => join(folder, name);
  const { code, out } = await runTiny(folder, 'waved', '--wave', wave('a.vcd'));
  expect(out).toMatch(/\nTables in \S+waved, waves in \S+a\.vcd\n$/u);
  expect(code).toBe(0);
  for (const name of TABLE_FILES) expect(table(folder, 'waved', name), name).toBe(table(folder, 'plain', name));
  // the first 10 us of the window, which begins at 1 us
  const text = readFileSync(wave('a.vcd'), 'utf8');
  expect([text.includes('\n#1000000\n$dumpvars\n'), text.endsWith('\n#11000000\n')]).toEqual([true, true]);
  expect(text).toContain('$scope module direct $end');
  expect(text).toContain('$scope module coherent $end');
  await runTiny(folder, 'again', '--wave', wave('b.vcd'), '--wave-between', '1us..11us');
  expect(readFileSync(wave('b.vcd'), 'utf8')).toBe(text);
});

test.each([
  [['--wave-between', '1us..2us'], '--wave-between: goes with --wave FILE'],
  [['--wave', 'x.vcd', '--wave-between', '1us..2ms'], `must span at most 1 ms, got '1us..2ms'`],
])('%j is told as wrong usage', async (options, sentence) => {
  const { code, err } = await runTiny(temporaryFolder(), 'none', ...options);
  expect([code, err.includes(sentence)]).toEqual([2, true]);
});
