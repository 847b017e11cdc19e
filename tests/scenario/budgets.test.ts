import { describe, expect, it } from 'vitest';
import { at, changed, placesOf, read, sentencesOf, SMALL } from './reading.js';

const under = (block: string, line: string): string => `${SMALL}${block}:\n  b: { ${line} }\n`;

describe('budgets', () => {
  it('are read in canonical units', () => {
    const text = `${SMALL}budgets:
  a: { kind: latency, master: camera, operation: write, level: port, percentile: 99.9 %, at_most: 2 us }
  b: { kind: bandwidth, master: camera, at_least: 400 MB/s }
  c: { kind: bandwidth, element: ddr, at_least: 1 GB/s }
  d: { kind: utilisation, element: near, at_most: 80 % }
`;
    const whose = { master: 'camera', operation: null, element: null };
    expect(read(text).systems[0]!.budgets).toEqual([
      {
        name: 'a',
        kind: 'latency',
        master: 'camera',
        operation: 'write',
        level: 'port',
        percentile: 0.999,
        limitPs: 2e6,
      },
      { name: 'b', kind: 'bandwidth', ...whose, limitBytesPerS: 4e8 },
      { name: 'c', kind: 'bandwidth', master: null, operation: null, element: 'ddr', limitBytesPerS: 1e9 },
      { name: 'd', kind: 'utilisation', element: 'near', limitShare: 0.8 },
    ]);
  });

  it('of a placement are laid over those of the file', () => {
    const text = `${under('budgets', 'kind: utilisation, element: ddr, at_most: 80 %')}placements:
  loose: { budgets: { b: { at_most: 90 % } } }
  free: { budgets: { b: } }
`;
    expect(
      read(text).systems.map(({ budgets }) => budgets.map((one) => 'limitShare' in one && one.limitShare)),
    ).toEqual([[0.9], []]);
  });

  it.each([
    ['kind: latency, master: camra, percentile: 99 %, at_most: 2 us', 'camra', 'unknown_name', 'master', 'camera'],
    ['kind: utilisation, element: dd, at_most: 1 %', 'dd,', 'unknown_name', 'element', "'ddr'"],
    [
      'kind: latency, master: camera, operation: read, percentile: 99 %, at_most: 2 us',
      'read,',
      'conflict',
      'operation',
      "'write'",
    ],
    ['kind: bandwidth, element: near, at_least: 1 MB/s', 'near, at_l', 'conflict', 'element', 'DRAM memory'],
    ['kind: bandwidth, element: ddr, operation: read, at_least: 1 MB/s', 'read,', 'conflict', 'operation', 'master'],
    ['kind: latency, master: camera, percentile: 99 %, at_most: 2', '2 }', 'missing_unit', 'at_most', 'has no unit'],
    [
      'kind: latency, master: camera, percentile: 10 %, at_most: 2 us',
      '10 %',
      'out_of_range',
      'percentile',
      '0.5 to 1',
    ],
    ['kind: utilisation, element: ddr, at_most: 120 %', '120', 'out_of_range', 'at_most', '0 to 1'],
    ['kind: loss, master: camera', 'loss', 'unknown_choice', 'kind', 'latency'],
  ])('%s', (line, piece, code, key, words) => {
    const text = under('budgets', line);
    expect(placesOf(text)).toEqual([`${at(text, piece)} ${code} budgets.b.${key}`]);
    expect(sentencesOf(text)).toContain(words);
  });

  it.each(['kind: bandwidth, at_least: 1 MB/s', 'kind: bandwidth, master: camera, element: ddr, at_least: 1 MB/s'])(
    '%s: one of both must be named',
    (line) => {
      const text = under('budgets', line);
      expect(placesOf(text)).toEqual([`${at(text, '{ kind: bandwidth')} conflict budgets.b`]);
      expect(sentencesOf(text)).toContain(`one of 'master' and 'element'`);
    },
  );
});

describe('metrics of a comparison', () => {
  it('are read, without a percentile as a mean', () => {
    const text = under('compare', 'kind: latency, master: camera');
    expect(read(text).systems[0]!.metrics).toEqual([
      { name: 'b', kind: 'latency', master: 'camera', operation: null, level: 'burst', percentile: null },
    ]);
  });

  it('are checked like budgets', () => {
    const text = under('compare', 'kind: latency, master: camera, percentile: 100 %');
    expect(placesOf(text)).toEqual([`${at(text, '100 %')} out_of_range compare.b.percentile`]);
    const stray = changed('masters:\n', 'compare: { x: { kind: utilisation, element: camera } }\nmasters:\n');
    expect(placesOf(stray)).toEqual([`${at(stray, 'camera }')} unknown_name compare.x.element`]);
  });
});
