import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, namesIn, put, temporaryFolder, TINY, type Outcome } from './rig.js';

/** One metric, so that ten replications of 20 us are enough. */
const ONE = `${TINY}compare: { mean: { kind: latency, master: reader } }\n`;

async function compare(text: string, ...options: string[]): Promise<Outcome & { folder: string; out: string }> {
  const folder = temporaryFolder();
  const outcome = await call(['compare', put(folder, 'tiny.yaml', text), '--out', join(folder, 'out'), ...options]);
  return { ...outcome, folder };
}

const rowsOf = (folder: string): string[][] =>
  readFileSync(join(folder, 'out', 'comparison.csv'), 'utf8')
    .trimEnd()
    .split('\r\n')
    .map((row) => row.split(','));

test('two placements: a table, and a verdict in words', async () => {
  const { code, out, err, folder } = await compare(ONE);
  expect([code, err]).toEqual([0, '']);
  expect(namesIn(join(folder, 'out'))).toEqual(['comparison.csv', 'comparison.json']);
  expect(out.startsWith('tiny: direct against coherent\n')).toBe(true);
  expect(out).toContain('coherent is better for\n- reader, mean burst latency: ');
  expect(out.replaceAll(/\s+/gu, ' ')).toContain('holds together with 95.0 % confidence');
  const [header, row] = rowsOf(folder);
  expect(row!.slice(0, 6)).toEqual(['tiny', 'coherent', 'all', 'reader burst mean_ns', 'direct', 'coherent']);
  const cell = (name: string): number => Number(row![header!.indexOf(name)]);
  expect(cell('variant_value') - cell('baseline_value')).toBeCloseTo(cell('difference'), 5);
  expect(cell('difference_ci95_low')).toBeLessThan(cell('difference'));
  expect(cell('difference_ci95_high')).toBeLessThan(0);
  expect(row!.at(-1)).toBe('variant_better');
});

test('the order of --placement says which is the baseline, and the same call gives the same bytes', async () => {
  const [one, two] = [
    await compare(ONE, '--placement', 'coherent', 'direct'),
    await compare(ONE, '--placement', 'coherent', 'direct'),
  ];
  expect(rowsOf(one.folder)).toEqual(rowsOf(two.folder));
  expect(rowsOf(one.folder)[1]!.at(-1)).toBe('baseline_better');
  expect(rowsOf((await compare(ONE, '--seed', 'other')).folder)).not.toEqual(rowsOf((await compare(ONE)).folder));
});

test('another file is compared by the metrics of the first, under its own name', async () => {
  const folder = temporaryFolder();
  const wide = put(folder, 'wide.yaml', TINY.replace('8 beats', '4 beats'));
  const { code, out } = await compare(ONE, '--against', wide, '--placement', 'direct');
  expect(code).toBe(0);
  expect(out).toContain('tiny: tiny direct against wide direct');
  expect(out).toContain('wide direct is better for');
});

test('what cannot be compared is told before the work, and nothing is written', async () => {
  const folder = temporaryFolder();
  const other = put(folder, 'other.yaml', TINY.replaceAll('reader', 'writer'));
  const single = TINY.slice(0, TINY.indexOf('placements:'));
  const three = `${TINY}  third: {}\n`;
  const tries: [string, string[], number, string][] = [
    [single, [], 2, 'tiny has only base: name another file with --against'],
    [three, [], 2, 'name two with --placement; tiny has: direct, coherent, third'],
    [TINY, ['--placement', 'direct', 'direct'], 2, 'two different placements'],
    [TINY, ['--placement', 'direct', 'sideways'], 2, "unknown placement 'sideways'"],
    [ONE, ['--against', other], 1, 'metric mean cannot be compared: other direct has no reader'],
    [TINY, ['--against', other], 1, 'no path in common'],
    [TINY, ['--against', join(folder, 'none.yaml')], 1, 'there is no file'],
  ];
  for (const [text, options, code, words] of tries) {
    const outcome = await compare(text, ...options);
    expect([outcome.code, outcome.out], words).toEqual([code, '']);
    expect(outcome.err).toContain(words);
    expect(existsSync(join(outcome.folder, 'out'))).toBe(false);
  }
});
