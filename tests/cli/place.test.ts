import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { call, namesIn, put, temporaryFolder, TINY, type Outcome } from './rig.js';

const searched = (ports = '[fabric0, fabric1, coherent0, general0]', limit = '1 ms'): string =>
  `${TINY.slice(0, TINY.indexOf('placements:'))}place:
  may_attach: { reader: ${ports} }
  best: { kind: latency, master: reader }
budgets: { quick: { kind: latency, master: reader, percentile: 50 %, at_most: ${limit} } }
`;

async function place(text: string, ...options: string[]): Promise<Outcome & { folder: string }> {
  const folder = temporaryFolder();
  const outcome = await call(['place', put(folder, 'tiny.yaml', text), '--out', join(folder, 'out'), ...options]);
  return { ...outcome, folder };
}

const rowsOf = (folder: string): Record<string, string>[] => {
  const [head, ...rows] = readFileSync(join(folder, 'out', 'place.csv'), 'utf8')
    .trimEnd()
    .split('\r\n');
  const names = head!.split(',');
  return rows.map((row) => Object.fromEntries(row.split(',').map((cell, i) => [names[i]!, cell])));
};

const flat = (text: string): string => text.replaceAll(/\s+/gu, ' ');

test('a table of the assignments, and the best in words', async () => {
  const { code, out, err, folder } = await place(searched());
  expect([code, err]).toEqual([0, '']);
  expect(namesIn(join(folder, 'out'))).toEqual(['place.csv', 'place.json']);
  const rows = rowsOf(folder);
  expect(rows.map(({ rank }) => rank)).toEqual(['1', '2', '3']);
  expect(rows[0]).toMatchObject({
    scenario: 'tiny',
    placement: 'base',
    replication: 'all',
    status: 'best',
    goal: 'reader burst mean_ns',
    difference: '',
    replications: '2',
    fails: '',
  });
  const two = rows.find((row) => row['attach_reader'] === 'fabric0')!;
  expect([two['alike_reader'], two['assignments']]).toEqual(['fabric0 fabric1', '2']);
  for (const row of rows.slice(1)) {
    expect(Number(row['value']) - Number(rows[0]!['value'])).toBeCloseTo(Number(row['difference']), 5);
  }
  expect(out).toContain('4 assignments, of which 3 differ: fabric0 and fabric1 are identical');
  expect(flat(out)).toContain(`Best - reader at ${rows[0]!['attach_reader']!}: reader, mean burst latency`);
  expect(out).toContain(`as a placement: attach: { reader: ${rows[0]!['attach_reader']!} }`);
  expect(flat(out)).toContain('All were tried at full length, 2 replications each: 6 replications');
});

test('the columns are those of the contract', async () => {
  const { folder } = await place(searched());
  expect(Object.keys(rowsOf(folder)[0]!).join(', ')).toBe(
    'scenario, placement, replication, rank, status, attach_reader, alike_reader, assignments, goal, value, difference, difference_ci95_low, difference_ci95_high, replications, fails, limit, measured, unit, warnings',
  );
});

test('the same call gives the same bytes, another seed others', async () => {
  const [one, two] = [await place(searched()), await place(searched())];
  expect(rowsOf(two.folder)).toEqual(rowsOf(one.folder));
  expect(rowsOf((await place(searched(), '--seed', 'other')).folder)).not.toEqual(rowsOf(one.folder));
});

test('any number of workers gives the same bytes', async () => {
  const text = searched().replace('coherent0, ', 'coherent0, fabric2, ');
  const [one, two] = [await place(text, '--workers', '1'), await place(text, '--workers', '2')];
  expect(two.code).toBe(one.code);
  expect(rowsOf(two.folder)).toEqual(rowsOf(one.folder));
});

test('where no assignment meets the budgets the exit code is 1, and the budget is named', async () => {
  const { code, out, folder } = await place(searched(undefined, '1 ns'), '--replications', '4');
  expect(code).toBe(1);
  expect(rowsOf(folder).map(({ status, fails, rank }) => [status, fails, rank])).toEqual(
    rowsOf(folder).map(() => ['budget_missed', 'quick', '']),
  );
  expect(flat(out)).toContain('misses quick (reader burst p50');
  expect(out).toContain('- none: no assignment is left');
});

test('where the data do not decide for any it is 3', async () => {
  const { code, out } = await place(searched(), '--replications', '1');
  expect(code).toBe(3);
  expect(flat(out)).toContain('none is shown to meet all budgets; see those not decided');
  expect(flat(out)).toContain('quick is undecided');
});

test('what cannot be searched is told in a sentence, before the work', async () => {
  const folder = temporaryFolder();
  const tries: [string, string[], number, string][] = [
    [TINY, [], 1, `add 'place:'`],
    [searched(), ['--placement', 'sideways'], 2, `unknown placement 'sideways'`],
    [searched('[fabric7]'), [], 1, `unknown port, coherence unit or device 'fabric7'`],
    [searched(), ['--replications', '0'], 2, 'whole number of at least 1'],
  ];
  for (const [i, [text, options, code, message]] of tries.entries()) {
    const path = put(folder, `try${i}.yaml`, text);
    const outcome = await call(['place', path, '--out', join(folder, 'out'), ...options]);
    expect([outcome.code, outcome.out]).toEqual([code, '']);
    expect(outcome.err).toContain(message);
  }
  expect(existsSync(join(folder, 'out'))).toBe(false);
});
