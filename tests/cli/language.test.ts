import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, namesIn, put, STACK, temporaryFolder } from './rig.js';

test('new writes a file that check takes without a problem', async () => {
  const folder = temporaryFolder();
  const path = join(folder, 'deep', 'mine.yaml');
  const made = await call(['new', path]);
  expect(made).toMatchObject({ code: 0, err: '' });
  expect(made.out).toContain(`burstyard check ${path}`);
  expect(namesIn(join(folder, 'deep'))).toEqual(['mine.yaml']);
  expect(await call(['check', path])).toMatchObject({ code: 0, err: '' });
});

test('new without a file prints what it would write', async () => {
  const path = join(temporaryFolder(), 'mine.yaml');
  await call(['new', path]);
  const printed = await call(['new']);
  expect(printed).toEqual({ code: 0, out: readFileSync(path, 'utf8'), err: '' });
});

test('new refuses a file that is there, and leaves it as it is', async () => {
  const path = put(temporaryFolder(), 'mine.yaml', 'work of days\n');
  const { code, out, err } = await call(['new', path]);
  expect(code).toBe(2);
  expect(out).toBe('');
  expect(err).toBe(`${path} is there already; name a file that is not\n`);
  expect(readFileSync(path, 'utf8')).toBe('work of days\n');
});

test('new refuses a folder that is there', async () => {
  const path = join(temporaryFolder(), 'mine');
  mkdirSync(path);
  const { code, err } = await call(['new', path]);
  expect(code).toBe(2);
  expect(err).not.toMatch(STACK);
  expect(namesIn(path)).toEqual([]);
});

test('explain tells meaning, kind and default of a key, with or without the names in its path', async () => {
  const short = await call(['explain', 'masters.burst']);
  expect(short).toMatchObject({ code: 0, err: '' });
  expect(short.out).toMatch(/^masters\.NAME\.burst\n/u);
  expect(short.out).toContain('  default  ');
  expect(await call(['explain', 'masters.camera.burst'])).toEqual(short);
});

test('explain without a key lists the blocks of a file', async () => {
  const { code, out } = await call(['explain']);
  expect(code).toBe(0);
  for (const block of ['platform', 'buffers', 'masters', 'run', 'placements'])
    expect(out).toContain(`\n    ${block}  `);
});

test('schema prints a JSON Schema that knows the blocks of a file', async () => {
  const { code, out, err } = await call(['schema']);
  expect(code).toBe(0);
  expect(err).toBe('');
  const schema = JSON.parse(out) as { $schema: string; properties: object };
  expect(schema.$schema).toContain('json-schema.org');
  expect(Object.keys(schema.properties)).toEqual(expect.arrayContaining(['platform', 'masters', 'run', 'placements']));
});
