import { execFileSync, spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { call, put, TABLE_FILES, temporaryFolder, TINY, type Outcome } from './rig.js';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const COPIED = ['src', 'scenarios', 'package.json', 'tsconfig.json', 'tsconfig.build.json'];

// a build of its own, since that of the tree may be old, or in use
let tree = '';
const build = (): void => void execFileSync('npm', ['run', '--silent', 'build'], { cwd: tree });
beforeAll(() => {
  tree = mkdtempSync(join(tmpdir(), 'burstyard-build-'));
  for (const name of COPIED) cpSync(join(ROOT, name), join(tree, name), { recursive: true });
  symlinkSync(join(ROOT, 'node_modules'), join(tree, 'node_modules'));
  build();
}, 120_000);
afterAll(() => rmSync(tree, { recursive: true, force: true }));

const built = (path: string): string => join(tree, 'dist/cli', path);

/** Calls the built program. */
function program(...argv: string[]): Outcome {
  const env = { ...process.env, NO_COLOR: '1', FORCE_COLOR: undefined };
  const { status, stdout, stderr } = spawnSync(process.execPath, [built('bin.js'), ...argv], { encoding: 'utf8', env });
  return { code: status!, out: stdout, err: stderr };
}

/** Does the file of the commands take what V8 compiled of it? */
function takesCompiled(): boolean {
  const code = `import { oneFile } from ${JSON.stringify(built('one-file.js'))}; console.log(oneFile().isCompiled);`;
  return execFileSync(process.execPath, ['--input-type=module', '-e', code], { encoding: 'utf8' }) === 'true\n';
}

test.each([
  ['help', ['--help']],
  ['a command without simulation', ['check', join(ROOT, 'scenarios/grain-sorter.yaml')]],
  ['the data that ships', ['new']],
  ['the words of the language', ['explain', 'masters.burst']],
  ['a file that is not there', ['check', 'missing.yaml']],
  ['a placement that is not there', ['check', join(ROOT, 'scenarios/grain-sorter.yaml'), '--placement', 'nowhere']],
  ['an option that is not there', ['run', 'missing.yaml', '--quickly']],
  ['a wrong use', ['sweep', join(ROOT, 'scenarios/grain-sorter.yaml'), '--vary', 'nothing']],
])('the build does what the sources do: %s', async (_name, argv) => {
  expect(program(...argv)).toEqual(await call(argv));
});

test('the problems of a scenario are told of a build as of the sources', async () => {
  const path = put(temporaryFolder(), 'wrong.yaml', TINY.replace('burst: 8 beats', 'burts: 8 beats'));
  const told = program('check', path);
  expect(told.err).toContain('burts');
  expect(told).toEqual(await call(['check', path]));
});

test('a build runs with workers, writes the same tables, and makes a report of them', async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY);
  expect(program('run', path, '--out', join(folder, 'built'), '--workers', '2')).toMatchObject({ code: 0, err: '' });
  await call(['run', path, '--out', join(folder, 'sources')]);
  for (const name of TABLE_FILES) {
    expect(readFileSync(join(folder, 'built', name), 'utf8')).toBe(readFileSync(join(folder, 'sources', name), 'utf8'));
  }
  expect(program('report', join(folder, 'built'))).toMatchObject({ code: 0, err: '' });
  expect(existsSync(join(folder, 'built/report.html'))).toBe(true);
}, 60_000);

test('V8 takes what it compiled when it was built', () => {
  expect(takesCompiled()).toBe(true);
});

test('without what V8 compiled, or with what is of no use to it, the program is slower and the same', () => {
  const argv = ['check', join(ROOT, 'scenarios/grain-sorter.yaml')];
  const before = program(...argv);
  const file = built('short.cjs.compiled');
  const compiled = readFileSync(file);
  try {
    writeFileSync(file, compiled.subarray(0, compiled.length / 2));
    expect(takesCompiled()).toBe(false);
    expect(program(...argv)).toEqual(before);
    rmSync(file);
    expect(takesCompiled()).toBe(false);
    expect(program(...argv)).toEqual(before);
  } finally {
    writeFileSync(file, compiled);
  }
});

test('a command that is bundled needs no package beside it, which would have to be found first', () => {
  const folder = temporaryFolder();
  for (const name of ['dist', 'scenarios', 'package.json']) {
    cpSync(join(tree, name), join(folder, name), { recursive: true });
  }
  const argv = ['check', join(folder, 'scenarios/grain-sorter.yaml')];
  const alone = spawnSync(process.execPath, [join(folder, 'dist/cli/bin.js'), ...argv], { encoding: 'utf8' });
  expect(alone.stderr).toBe('');
  expect(alone.status).toBe(0);
});

// last, since it changes the tree
test('a build is of the sources as they are, even where nothing but a letter has changed', () => {
  const file = join(tree, 'src/output/check-text.ts');
  const text = readFileSync(file, 'utf8');
  expect(text).toContain('Unloaded latency');
  writeFileSync(file, text.replace('Unloaded latency', 'Unloaded latencY'));
  build();
  expect(takesCompiled()).toBe(true);
  expect(program('check', join(ROOT, 'scenarios/grain-sorter.yaml')).out).toContain('Unloaded latencY');
}, 120_000);
