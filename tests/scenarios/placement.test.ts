import { beforeAll, describe, expect, test } from 'vitest';
import { LATENCY, MEMORY, RESOURCES, CACHE, DISTRIBUTION } from '../../src/measure/tables/columns.js';
import { poolStudy, type StudyTables } from '../../src/measure/tables/pool.js';
import { toCsv } from '../../src/output/csv.js';
import type { CoherenceSpec, MasterSpec, Scenario, SystemSpec } from '../../src/scenario/scenario.js';
import { studyNow } from '../study/study-now.js';
import { read, withMasters, withRun } from './shipped.js';

const KIB = 1024;
const US = 1_000_000;
const LIMIT_MS = 120_000;
/** Bytes of one line of the camera. */
const BLOCK = 8 * KIB;

const sorter = withRun(read('grain-sorter.yaml'), {
  replications: 2,
  warmupPs: 300 * US,
  durationPs: 500 * US,
  drainPs: 300 * US,
});
/** The same with the streams of its tasks as sources of their own, so that it can be said when each comes. */
const demonstration = everySystem(sorter, (system) => ({
  ...withMasters(system, (master): MasterSpec => {
    const offsetPs = new Map([
      ['camera', 0],
      ['classifier_read', 20 * US],
    ]).get(master.name);
    if (offsetPs === undefined) return master;
    return {
      ...master,
      issue: { process: 'periodic', blockBytes: BLOCK, everyPs: 40 * US, jitterPs: 0, offsetPs },
    };
  }),
  tasks: [],
}));

function tablesOf(scenario: Scenario, placements: string[] = []): StudyTables {
  return poolStudy(studyNow(scenario, { placements }));
}

/** Mean latency of the classifier's reads, from their offer at the port, in ns. */
function readNs({ latency }: StudyTables, placement: string): number {
  const row = latency.find(
    (r) => r.placement === placement && r.master === 'classifier_read' && r.level === 'port' && r.replication === 'all',
  )!;
  expect(row.count).toBeGreaterThan(500);
  return row.meanPs! / 1000;
}

/** Share of a master's lookups in the shared cache that miss. */
function missShare({ cache }: StudyTables, placement: string, master: string): number {
  const row = cache.find(
    (r) => r.placement === placement && r.master === master && r.cache.endsWith(' L2') && r.replication === 'all',
  )!;
  expect(row.lookups).toBeGreaterThan(1000);
  return row.misses / row.lookups;
}

function everySystem(scenario: Scenario, alter: (system: SystemSpec) => SystemSpec): Scenario {
  return { ...scenario, systems: scenario.systems.map(alter) };
}

function withUnit(scenario: Scenario, alter: (unit: CoherenceSpec) => Partial<CoherenceSpec>): Scenario {
  return everySystem(scenario, (system) => ({
    ...system,
    elements: system.elements.map((e) => (e.kind === 'coherence' ? { ...e, ...alter(e) } : e)),
  }));
}

const withL2 = (scenario: Scenario, bytes: number): Scenario =>
  withUnit(scenario, ({ l2 }) => ({ l2: { ...l2, bytes } }));

/** The ring of lines with another size, at a place where it overlaps no other buffer. */
function withRing(scenario: Scenario, bytes: number): Scenario {
  const far = 256 * KIB * KIB;
  return everySystem(scenario, (system) => ({
    ...system,
    buffers: system.buffers.map((b) => (b.name === 'lines' ? { ...b, baseBytes: far, bytes } : b)),
  }));
}

/**
 * The classifier reads the oldest line of the ring, half a period before the camera writes over it, instead of the newest.
 * Otherwise it follows half a period behind the camera: what lies between is one line, however large the ring.
 */
function readingTheOldest(scenario: Scenario, ringBytes: number, periodPs: number): Scenario {
  const offsets = new Map([
    ['camera', 0],
    ['classifier_read', (ringBytes / BLOCK - 1) * periodPs + periodPs / 2],
  ]);
  return everySystem(scenario, (system) =>
    withMasters(system, (master): MasterSpec => {
      const offsetPs = offsets.get(master.name);
      if (offsetPs === undefined || master.issue.process !== 'periodic') return master;
      return { ...master, issue: { ...master.issue, everyPs: periodPs, offsetPs } };
    }),
  );
}

const withoutCores = (scenario: Scenario): Scenario =>
  everySystem(scenario, (system) =>
    withMasters(system, (master) => (master.core === null ? master : { ...master, issue: { process: 'silent' } })),
  );

/** A ring of which the oldest line is read, walked once to warm up and once to measure. */
function oldest(ringBytes: number, l2Bytes: number): Scenario {
  const period = 20 * US;
  const walk = (ringBytes / BLOCK) * period;
  const scenario = withoutCores(withL2(withRing(demonstration, ringBytes), l2Bytes));
  const run = { replications: 1, warmupPs: 2 * walk, durationPs: walk };
  return withRun(readingTheOldest(scenario, ringBytes, period), run);
}

describe('the placement of the classifier', () => {
  let shipped: StudyTables;
  beforeAll(() => {
    shipped = tablesOf(demonstration);
  }, LIMIT_MS);

  test('at the coherent port reads faster than at a fabric port while the line is still in L2', () => {
    expect(readNs(shipped, 'coherent')).toBeLessThan(0.7 * readNs(shipped, 'fabric'));
    expect(missShare(shipped, 'coherent', 'classifier_read')).toBeLessThan(0.01);
  });

  test(
    'at the coherent port wins nothing when the coherent port does not allocate',
    () => {
      const tables = tablesOf(withUnit(demonstration, () => ({ portReadAllocate: false, portWriteAllocate: false })));
      expect(readNs(tables, 'coherent')).toBeGreaterThan(readNs(tables, 'fabric'));
      // what does not go through the port does not care
      expect(readNs(tables, 'fabric')).toBe(readNs(shipped, 'fabric'));
    },
    LIMIT_MS,
  );

  test(
    'at the coherent port still wins with a large ring of which the newest line is read',
    () => {
      const tables = tablesOf(withRing(demonstration, 4096 * KIB), ['coherent']);
      expect(readNs(tables, 'coherent')).toBeLessThan(0.7 * readNs(shipped, 'fabric'));
    },
    LIMIT_MS,
  );

  test(
    'at the coherent port wins up to a ring as large as L2 when the oldest line is read, and L2 doubled doubles that ring',
    () => {
      const rings = [64, 96, 192, 384].map((size) => size * KIB);
      const fabric = readNs(tablesOf(oldest(96 * KIB, 128 * KIB), ['fabric']), 'fabric');
      const largest = (l2Bytes: number): number => {
        const wins = rings.map((ring) => readNs(tablesOf(oldest(ring, l2Bytes), ['coherent']), 'coherent') < fabric);
        // once lost, the advantage does not come back
        expect(wins).toEqual(wins.toSorted((a, b) => Number(b) - Number(a)));
        return rings[wins.lastIndexOf(true)]!;
      };
      expect(largest(128 * KIB)).toBe(96 * KIB);
      expect(largest(256 * KIB)).toBe(192 * KIB);
    },
    LIMIT_MS,
  );

  test(
    'loses its advantage past L2 also under the traffic of the cores',
    () => {
      const period = 10 * US;
      const under = (ring: number, warmupPs: number): StudyTables => {
        const scenario = readingTheOldest(withL2(withRing(demonstration, ring), 256 * KIB), ring, period);
        return tablesOf(withRun(scenario, { replications: 1, warmupPs, durationPs: 500 * US }));
      };
      const within = under(64 * KIB, 500 * US);
      expect(readNs(within, 'coherent')).toBeLessThan(0.7 * readNs(within, 'fabric'));
      const past = under(1024 * KIB, 1500 * US);
      expect(readNs(past, 'coherent')).toBeGreaterThan(readNs(past, 'fabric'));
    },
    LIMIT_MS,
  );
});

describe('the task of the demonstration', () => {
  let tables: StudyTables;
  beforeAll(() => {
    tables = tablesOf(sorter);
  }, LIMIT_MS);
  const rowOf = (placement: string, task: string) =>
    tables.tasks.find((row) => row.placement === placement && row.task === task && row.replication === 'all')!;

  test('takes less time where the classifier sees the caches, and keeps its deadline either way', () => {
    const [coherent, fabric] = [rowOf('coherent', 'sort'), rowOf('fabric', 'sort')];
    expect(coherent.instances).toBe(fabric.instances);
    expect(coherent.meanPs).toBeLessThan(0.9 * fabric.meanPs!);
    expect([coherent.misses, fabric.misses]).toEqual([0, 0]);
  });

  test('pays for lines only where it does not', () => {
    // 1 KiB of verdicts are 16 lines, the barrier is 20 cycles at 1.2 GHz
    expect(rowOf('coherent', 'release')).toMatchObject({ maxPs: 16_667, upkeepShare: 1 });
    expect(rowOf('fabric', 'release').meanPs).toBeGreaterThan(16 * 15_000);
    expect(rowOf('fabric', 'sort').upkeepShare).toBeGreaterThan(10 * rowOf('coherent', 'sort').upkeepShare!);
  });

  test('draws the same interrupts in both placements', () => {
    const times = (placement: string) => rowOf(placement, 'sort').maxPs! - rowOf(placement, 'sort').p50Ps!;
    // the longest interrupt makes the longest task in both: what it is above the median differs by the noise of memory
    expect(Math.abs(times('coherent') - times('fabric'))).toBeLessThan(1.5 * US);
  });
});

describe('masters that are beside the point', () => {
  const csvOf = (t: StudyTables): string[] => [
    toCsv(LATENCY, t.latency),
    toCsv(DISTRIBUTION, t.distribution),
    toCsv(RESOURCES, t.resources),
    toCsv(MEMORY, t.memory),
    toCsv(
      CACHE,
      t.cache.filter((row) => row.master !== 'idler'),
    ),
  ];
  const short = withRun(demonstration, { warmupPs: 100 * US, durationPs: 200 * US, replications: 2 });

  test.each(['coherent0', 'fabric1', 'general0'])(
    'one that never issues changes no byte of the others: at %s',
    (attach) => {
      const more = everySystem(short, (system) => {
        const like = system.masters.find(({ name }) => name === 'archiver')!;
        const idler: MasterSpec = { ...like, name: 'idler', attach, qos: 15, issue: { process: 'silent' } };
        return { ...system, masters: [idler, ...system.masters] };
      });
      expect(csvOf(tablesOf(more))).toEqual(csvOf(tablesOf(short)));
    },
    LIMIT_MS,
  );

  test(
    'a larger stream through the coherent port raises the miss share of the cores, through a fabric port it does not',
    () => {
      const stream = (blockBytes: number): StudyTables =>
        tablesOf(
          everySystem(withL2(withRing(demonstration, 4096 * KIB), 256 * KIB), (system) =>
            withMasters(system, (master): MasterSpec => {
              if (master.name !== 'camera' || master.issue.process !== 'periodic') return master;
              return { ...master, issue: { ...master.issue, blockBytes } };
            }),
          ),
        );
      const small = stream(2 * KIB);
      const large = stream(32 * KIB);
      const rise = (placement: string): number =>
        missShare(large, placement, 'os_data') - missShare(small, placement, 'os_data');
      expect(rise('coherent')).toBeGreaterThan(0.03);
      expect(Math.abs(rise('fabric'))).toBeLessThan(0.005);
    },
    LIMIT_MS,
  );
});
