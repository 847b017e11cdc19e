import { describe, expect, it } from 'vitest';
import { type Cell, type Quantity, TABLES, type Table } from '../../src/measure/tables/columns.js';
import { poolStudy } from '../../src/measure/tables/pool.js';
import type {
  BudgetRow,
  BurstRow,
  CommandRow,
  ComparisonRow,
  SensitivityRow,
  TaskRow,
} from '../../src/measure/tables/rows.js';
import { csvParts, toCsv } from '../../src/output/csv.js';
import { studySample } from '../measure/study-sample.js';

function tableOf(quantity: Quantity): Table<Cell> {
  return {
    file: 't.csv',
    rowIs: '',
    columns: [{ name: 'cell', unit: '', meaning: '', quantity, read: (cell) => cell }],
  };
}

const lines = (quantity: Quantity, cells: Cell[]): string[] =>
  toCsv(tableOf(quantity), cells).split('\r\n').slice(1, -1);

/** The n-th activate of a DRAM. */
function command(n: number): CommandRow {
  const base = { scenario: 'sample', placement: 'fabric', replication: 1, memory: 'ddr', channel: 0 };
  return { ...base, timePs: 1250 * n, rank: 0, bankGroup: 0, bank: n % 8, row: n, command: 'activate' };
}

/** A reader of RFC 4180 written from its grammar, so that the writer is not checked against itself. */
function readCsv(text: string): string[][] {
  const records: string[][] = [[]];
  const field = /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n)/gy;
  while (field.lastIndex < text.length) {
    const match = field.exec(text);
    if (match === null) throw new Error('not RFC 4180');
    records.at(-1)!.push(match[1]?.replaceAll('""', '"') ?? match[2]!);
    if (match[3] === '\r\n') records.push([]);
  }
  return records.slice(0, -1);
}

describe('toCsv', () => {
  it('writes a header, and CRLF after every record', () => {
    expect(toCsv(tableOf('count'), [1, 2])).toBe('cell\r\n1\r\n2\r\n');
  });

  it('writes the header of an empty table', () => {
    expect(toCsv(tableOf('count'), [])).toBe('cell\r\n');
  });

  it('escapes what a spreadsheet would run, and no number', () => {
    expect(lines('text', ['=1+1', '+1', '-x', '@a', '\tb', 'dma-0'])).toEqual([
      "'=1+1",
      "'+1",
      "'-x",
      "'@a",
      "'\tb",
      'dma-0',
    ]);
    expect(lines('time', [-1500, 0, -0])).toEqual(['-1.5', '0', '0']);
  });

  it('quotes commas, quotes and line ends, and keeps unicode', () => {
    const names = ['a,b', 'say "hi"', 'two\nlines', 'cr\ronly', 'Kürbis ☂ 線'];
    expect(
      readCsv(toCsv(tableOf('text'), names))
        .slice(1)
        .flat(),
    ).toEqual(names);
    expect(lines('text', ['say "hi"'])).toEqual(['"say ""hi"""']);
  });

  it('leaves null, NaN and Infinity empty', () => {
    const rows = readCsv(toCsv(TABLES.latency, poolStudy(studySample(2, 5)).latency));
    const dma = rows.find((row) => row[3] === 'dma' && row[2] === 'all')!;
    expect(dma.slice(8)).toEqual(['0', '2', ...Array.from({ length: 14 }, () => ''), '0', '0', '', '0', 'starved']);
    expect(
      readCsv(
        toCsv({ ...tableOf('number'), columns: [...tableOf('number').columns, ...tableOf('number').columns] }, [
          NaN,
          Infinity,
          null,
        ]),
      ).slice(1),
    ).toEqual([
      ['', ''],
      ['', ''],
      ['', ''],
    ]);
  });

  it('gives a long table in parts, with the same text', () => {
    const rows = Array.from({ length: 12_001 }, (_, n) => command(n));
    const parts = [...csvParts(TABLES.commands, rows)];
    expect(parts.length).toBe(4);
    expect(parts.join('') === toCsv(TABLES.commands, rows)).toBe(true);
    expect([...csvParts(TABLES.commands, [])].join('')).toBe(toCsv(TABLES.commands, []));
  });

  it('writes every table in as many cells as it has columns', () => {
    const tables = poolStudy(studySample(6, 2000));
    const start = { scenario: 's', placement: 'p', replication: 'all' as const };
    const path = { ...start, master: 'm', port: 'p', target: 'ddr', operation: 'read' as const };
    const charge = { victim: 'm read', culprit: '(itself)', element: 'ddr' };
    const budget: BudgetRow = {
      ...start,
      budget: 'flow',
      spec: {
        name: 'flow',
        kind: 'bandwidth',
        master: 'm',
        operation: null,
        element: null,
        limitBytesPerS: 1e8,
      },
      level: null,
      limit: 1e8,
      measured: 1.2e8,
      marginShare: 0.2,
      verdict: 'met',
      reason: null,
      none: null,
    };
    const task: TaskRow = {
      ...start,
      task: 'sort',
      instances: 100,
      unfinished: 1,
      meanPs: 12_500_000,
      p50Ps: 12_000_000,
      p99Ps: null,
      maxPs: 20_000_000,
      deadlinePs: 60_000_000,
      misses: 0,
      dropped: 3,
      queued: 4,
      upkeepShare: 0.125,
      meanLowPs: 'deterministic',
      meanHighPs: 'deterministic',
      p99LowPs: null,
      p99HighPs: null,
      notes: [],
    };
    const comparison: ComparisonRow = {
      ...start,
      metric: { name: 'x', kind: 'latency', master: 'm', operation: 'read', level: 'port', percentile: 0.999 },
      baseline: 'p',
      variant: 'q',
      baselineValue: 2000,
      variantValue: 1500,
      difference: -500,
      low: -600,
      high: -400,
      verdict: 'variant_better',
      overloadedIn: [],
    };
    const sensitivity: SensitivityRow = {
      ...start,
      element: 'ddr',
      kind: 'ddr',
      utilisation: 0.5,
      spec: {
        name: 'fast',
        kind: 'latency',
        master: 'm',
        operation: null,
        level: 'burst',
        percentile: 0.9,
        limitPs: 9000,
      },
      level: 'burst',
      limit: 9000,
      now: 2000,
      faster: 1500,
      change: -500,
      low: -600,
      high: -400,
      verdict: 'better',
    };
    const burst: BurstRow = {
      ...path,
      number: 3,
      address: 64,
      bytes: 64,
      wantedPs: 1000,
      offeredPs: null,
      acceptedPs: null,
      donePs: 3000,
      stagesPs: null,
      longestWaitPs: null,
      waitsFor: null,
      waitsAt: null,
    };
    const rates = { readBytesPerS: 1e6, writeBytesPerS: 0, meanPs: null, maxPs: null };
    const texts: Record<keyof typeof TABLES, string> = {
      latency: toCsv(TABLES.latency, tables.latency),
      distribution: toCsv(TABLES.distribution, tables.distribution),
      resources: toCsv(TABLES.resources, tables.resources),
      memory: toCsv(TABLES.memory, tables.memory),
      cache: toCsv(TABLES.cache, tables.cache),
      stages: toCsv(TABLES.stages, [
        { ...path, part: 'all', stage: 'port', meanPs: 1500, p99Ps: null, share: 0.25, followedShare: 1 },
      ]),
      blame: toCsv(TABLES.blame, [{ ...start, ...charge, meanPs: 1500, totalPs: 3e6, chargedShare: 0.5 }]),
      timeline: toCsv(TABLES.timeline, [{ ...start, startPs: 1e6, master: 'm', ...rates }]),
      queues: toCsv(TABLES.queues, [{ ...start, startPs: 1e6, element: 'ddr', meanDepth: 0.5, maxDepth: 2 }]),
      tasks: toCsv(TABLES.tasks, [task]),
      budgets: toCsv(TABLES.budgets, [budget]),
      comparison: toCsv(TABLES.comparison, [comparison]),
      sensitivity: toCsv(TABLES.sensitivity, [sensitivity]),
      commands: toCsv(TABLES.commands, [command(0)]),
      bursts: toCsv(TABLES.bursts, [burst]),
    };
    for (const [name, { columns }] of Object.entries(TABLES)) {
      const records = readCsv(texts[name as keyof typeof TABLES]);
      expect(records[0]).toEqual(columns.map((column) => column.name));
      expect(records.length).toBeGreaterThan(1);
      for (const record of records) expect(record.length).toBe(columns.length);
    }
    const first = (name: keyof typeof TABLES): string | undefined => texts[name].split('\r\n')[1];
    expect(first('memory')).toBe('sample,fabric,1,ddr,0,0.6,0.3,0.1,0.04,0.02,0.1,1000,500,6400,10');
    expect(first('stages')).toBe('s,p,all,m,p,ddr,read,all,port,1.5,,0.25,1');
    expect(first('blame')).toBe('s,p,all,m read,(itself),ddr,1.5,3,0.5');
    expect(first('timeline')).toBe('s,p,all,1,m,1,0,,');
    expect(first('queues')).toBe('s,p,all,1,ddr,0.5,2');
    expect(first('tasks')).toBe('s,p,all,sort,100,12.5,12,,20,60,0,3,0.125,4,1,deterministic,deterministic,,');
    expect(first('comparison')).toBe('s,p,all,m read port p99_9_ns,p,q,2,1.5,-0.5,-0.6,-0.4,0.75,variant_better');
    expect(first('sensitivity')).toBe('s,p,all,ddr,ddr,0.5,fast,burst,9,2,1.5,-0.5,-0.6,-0.4,ns,better');
    expect(first('budgets')).toBe('s,p,all,flow,,100,120,MB/s,0.2,met');
  });
});
