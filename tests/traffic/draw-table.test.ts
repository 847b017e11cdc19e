import { readFileSync, writeFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { keyedDraw, randomStream } from '../../src/engine/random.js';
import type { DistributionSpec, IssueSpec, PatternSpec } from '../../src/scenario/scenario.js';
import { makeDraw, quantileOf, roundedDraw } from '../../src/traffic/distribution.js';
import { makePattern } from '../../src/traffic/pattern.js';
import { master, requestsOf, wanted } from './master-sample.js';

/**
 * Results are the same on every machine only if these draws are, to the last bit: a machine whose logarithm or power
 * differs fails here, by the name of what differs. UPDATE=1 rewrites the table (format it after); a changed number
 * changes every result of every user and needs a reason in the change log.
 */
const FILE = new URL('./fixtures/draws.json', import.meta.url);
const COUNT = 24;

const distributions: DistributionSpec[] = [
  { kind: 'fixed', value: 640 },
  { kind: 'uniform', low: 1000, high: 9000 },
  { kind: 'exponential', mean: 250_000 },
  { kind: 'geometric', mean: 6, unit: 64 },
  { kind: 'lognormal', mean: 80_000, spread: 1.5 },
  { kind: 'table', values: [64, 1500, 576], weights: [7, 4, 1] },
];

const pace = { kind: 'rate', bytesPerS: 399_999_999 } as const;
const ON_OFF = {
  process: 'on_off',
  pace,
  within: 'poisson',
  on: { kind: 'exponential', mean: 2e6 },
  off: { kind: 'lognormal', mean: 3e6, spread: 1 },
} as const;
const issues: IssueSpec[] = [
  { process: 'steady', pace, jitterPs: 900, offsetPs: null },
  { process: 'poisson', pace, batch: { kind: 'geometric', mean: 2, unit: 1 } },
  { process: 'periodic', blockBytes: 4096, everyPs: 7_000_001, jitterPs: 5000, offsetPs: null },
  ON_OFF,
  { process: 'dependent', think: { kind: 'exponential', mean: 90_000 } },
  { process: 'greedy' },
  {
    process: 'trace',
    file: 't.csv',
    entries: Array.from({ length: 8 }, (_, k) => ({
      timePs: 500 * k * k,
      write: k % 3 === 0,
      address: 640 * k,
      bytes: 64 + k,
    })),
  },
  { process: 'silent' },
];

const patterns: PatternSpec[] = [
  { pattern: 'sequential' },
  { pattern: 'strided', strideBytes: 1111 },
  { pattern: 'random', alignBytes: 16 },
  { pattern: 'chain', lineBytes: 64 },
];

const repeat = (draw: (index: number) => number): number[] => Array.from({ length: COUNT }, (_, index) => draw(index));

const stream = (purpose: string) => randomStream('draw table', 3, 'm', purpose);

function currentTable(): [string, number[]][] {
  const keyed = keyedDraw('draw table', 3, 'm', 'keyed');
  const rows: [string, number[]][] = [
    ['stream', repeat(stream('plain'))],
    ['keyed', repeat((index) => keyed(index, index * index, -index))],
    ['keyed far out', repeat((index) => keyed(index * 2 ** 40, index * 2 ** 33 + 1, -index * 2 ** 45))],
  ];
  for (const spec of distributions) {
    const quantile = quantileOf(spec);
    rows.push([`${spec.kind} drawn`, repeat(makeDraw(spec, stream(spec.kind)))]);
    rows.push([`${spec.kind} rounded`, repeat(roundedDraw(spec, stream(spec.kind)))]);
    rows.push([`${spec.kind} quantiles`, repeat((index) => quantile(index < 23 ? index / 23 : 1 - 2 ** -53))]);
  }
  const zipf = makePattern({ pattern: 'zipf', exponent: 0.9, lineBytes: 64 }, 1 << 16, stream('a'), stream('b'));
  rows.push(['zipf', repeat(() => zipf.next(64))]);
  for (const issue of issues) {
    const list = requestsOf(master(issue, { size: { kind: 'exponential', mean: 300 } }), COUNT, 'draw table', 3);
    const time = issue.process === 'dependent' || issue.process === 'greedy' ? 'thinkPs' : 'wantedPs';
    for (const key of [time, 'offset', 'bytes', 'serviceDraw'] as const) {
      rows.push([`${issue.process} ${key}`, list.map((request) => request[key])]);
    }
    rows.push([`${issue.process} write`, list.map(({ write }) => (write ? 1 : 0))]);
  }
  const steadyOn = { ...ON_OFF, within: 'steady' } as const;
  rows.push(['on_off within steady wantedPs', wanted(master(steadyOn), COUNT, 'draw table', 3)]);
  for (const spec of patterns) {
    // 14 to 15 requests fill the buffer, so that those that go round do
    const source = makePattern(spec, 9000, stream('a'), stream('b'));
    rows.push([`${spec.pattern} offsets`, repeat((index) => source.next(600 + index))]);
  }
  return rows;
}

const table = currentTable();
if (process.env['UPDATE'] === '1') {
  const lines = table.map((row) => `  ${JSON.stringify(row)}`);
  writeFileSync(FILE, `[\n${lines.join(',\n')}\n]\n`);
}
const rows: [string, number[]][] = JSON.parse(readFileSync(FILE, 'utf8'));
const stored = new Map(rows);

it.each(table)('the draws "%s" are those of the stored table, to the last bit', (name, draws) => {
  expect(draws).toEqual(stored.get(name));
});

it('the stored table has no other draws', () => {
  expect([...stored.keys()]).toEqual(table.map(([name]) => name));
});
