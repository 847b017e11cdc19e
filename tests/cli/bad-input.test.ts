import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { call, namesIn, put, STACK, temporaryFolder, TINY } from './rig.js';

const BINARY = Uint8Array.from({ length: 512 }, (_, i) => (i * 197 + 13) % 256);

/** Content of the file, and a word of what is said of it. */
const FILES: [title: string, content: string | Uint8Array, words: string][] = [
  ['a binary file', BINARY, 'text'],
  ['an empty file', '', 'empty'],
  ['a file of comments alone', '# nothing\n', 'empty'],
  ['YAML that is none', 'masters: { reader: [1, 2\n', 'bad.yaml:'],
  ['a list', '- masters\n', 'bad.yaml:1:1'],
  ['an unknown key', TINY.replace('burst:', 'brust:'), "did you mean 'burst'"],
  ['a quantity without a unit', TINY.replace('100 MB/s', '100'), 'masters.reader.issue'],
  ['a platform that does not exist', TINY.replace('quad-core-fabric', 'quad-core-fabrik'), 'quad-core-fabric'],
  [
    'a trace that is not there',
    TINY.replace('{ process: poisson, rate: 100 MB/s }', '{ process: trace, file: none.csv }'),
    'none.csv',
  ],
  [
    'a trace that is a folder',
    TINY.replace('{ process: poisson, rate: 100 MB/s }', '{ process: trace, file: . }'),
    'masters.reader.issue',
  ],
];

describe.each(['run', 'check'])('bad input of %s ends with 1 and a sentence, never a stack', (command) => {
  const outcomeOf = async (path: string, folder: string) =>
    await call([command, path, ...(command === 'run' ? ['--out', join(folder, 'out')] : [])]);

  test.each(FILES)('%s', async (_title, content, words) => {
    const folder = temporaryFolder();
    const { code, out, err } = await outcomeOf(put(folder, 'bad.yaml', content), folder);
    expect(err).toContain(words);
    expect(err).toContain(join(folder, 'bad.yaml'));
    expect(err).toMatch(/\n[1-9]\d* problems?\n$/u);
    expect(err).not.toMatch(STACK);
    expect(out).toBe('');
    expect(code).toBe(1);
    expect(namesIn(folder), 'nothing is written').toEqual(['bad.yaml']);
  });

  test('a missing file, with the way to make one under that very path', async () => {
    const folder = temporaryFolder();
    const path = join(folder, 'none.yaml');
    const { code, err } = await outcomeOf(path, folder);
    expect(err).toContain(`there is no file or folder ${path}`);
    expect(err).toContain(`'burstyard new ${path}'`);
    expect(err).not.toMatch(STACK);
    expect(code).toBe(1);
  });

  test('a folder instead of a file, without the advice to make it anew', async () => {
    const folder = temporaryFolder();
    const { code, err } = await outcomeOf(folder, folder);
    expect(err).toContain(`${folder} is a folder, not a file`);
    expect(err).not.toContain('burstyard new');
    expect(err).not.toMatch(STACK);
    expect(code).toBe(1);
  });

  test('a path that no system takes', async () => {
    const { code, err } = await outcomeOf('a\u0000b', temporaryFolder());
    expect(err).toContain('cannot be used');
    expect(err).not.toMatch(STACK);
    expect(code).toBe(1);
  });
});

test('an unknown key is shown with its line and a caret under it', async () => {
  const path = put(temporaryFolder(), 'bad.yaml', TINY.replace('burst:', 'brust:'));
  const { err } = await call(['check', path]);
  expect(err).toContain(`${path}:8:5  masters.reader.brust: `);
  expect(err).toContain('        brust: 8 beats\n        ^\n');
  expect(err).toContain('1 problem\n');
});

test('all problems of a file are told at once and counted', async () => {
  const text = TINY.replace('burst:', 'brust:').replace('64 KiB', '64');
  const { err } = await call(['check', put(temporaryFolder(), 'bad.yaml', text)]);
  expect(err).toContain('brust');
  expect(err).toContain('buffers.samples.size');
  expect(err).toContain('2 problems\n');
});

test('a trace is looked up beside the scenario', async () => {
  const folder = temporaryFolder();
  put(folder, 'wants.csv', 'time_ns,operation,address,bytes\n0,read,0,64\n5000,read,64,64\n');
  const text = TINY.replace('{ process: poisson, rate: 100 MB/s }', '{ process: trace, file: wants.csv }');
  const { code, err } = await call(['check', put(folder, 'traced.yaml', text)]);
  expect(err).toBe('');
  expect(code).toBe(0);
});
