import { expect, test } from 'vitest';
import { call, namesIn, put, temporaryFolder, TINY } from './rig.js';

test('check tells every placement and writes nothing', async () => {
  const folder = temporaryFolder();
  const path = put(folder, 'tiny.yaml', TINY);
  const { code, out, err } = await call(['check', path], {
    writeFile: (name) => {
      throw new Error(`writes ${name}`);
    },
  });
  expect(code).toBe(0);
  expect(err).toBe('');
  expect(out).toContain('tiny, placement direct: not simulated');
  expect(out).toContain('tiny, placement coherent: not simulated');
  expect(out).toContain('reader read of 128 bytes: fabric0 > fabric_switch > ddr');
  expect(namesIn(folder)).toEqual(['tiny.yaml']);
});

test('check --placement tells the chosen ones alone', async () => {
  const path = put(temporaryFolder(), 'tiny.yaml', TINY);
  const { out } = await call(['check', path, '--placement', 'coherent']);
  expect(out).toContain('placement coherent');
  expect(out).not.toContain('placement direct');
});

test('check names an element that is asked for more than it can carry', async () => {
  const path = put(temporaryFolder(), 'tiny.yaml', TINY.replace('100 MB/s', '4 GB/s'));
  const { code, out } = await call(['check', path]);
  expect(code).toBe(0);
  expect(out).not.toContain('No warnings.\n\ntiny, placement coherent');
  expect(out).toContain('fabric0');
  expect(out).toMatch(/^fabric0 +read +4,000 +3,200 +125(\.0)? %/mu);
});

test('tones are painted as the terminal asks, and not at all without one', async () => {
  const path = put(temporaryFolder(), 'tiny.yaml', TINY);
  const painted = await call(['check', path], { paint: (tone, text) => `<${tone}>${text}</>` });
  expect(painted.out).toContain('<heading>');
  const plain = await call(['check', path]);
  expect(painted.out.replaceAll(/<\/?[a-z]*>/gu, '')).toBe(plain.out);
});
