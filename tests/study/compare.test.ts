import { xor4096 } from 'seedrandom';
import { describe, expect, it } from 'vitest';
import { deviationOf } from '../../src/measure/statistics/clusters.js';
import { type PathPlain, PathRecord } from '../../src/measure/path-record.js';
import type { ReplicationResult } from '../../src/measure/results.js';
import type { ComparisonRow } from '../../src/measure/tables/rows.js';
import { studentQuantile } from '../../src/measure/statistics/student.js';
import { checkSystem } from '../../src/study/check.js';
import { compareSystems, type Comparison, LOOKS, metricsOf, NARROW } from '../../src/study/compare.js';
import { Alone, type Crew, type Job, Stopped } from '../../src/study/crew.js';
import { comparisonText } from '../../src/output/comparison.js';
import { FACTS, replicationSample, WINDOW_PS } from '../measure/study-sample.js';
import { read } from '../scenario/reading.js';
import { TINY } from '../cli/rig.js';

/** Of the camera's reads: the median and the mean of their latency, the bandwidth. */
const SMALL = `platform: { preset: quad-core-fabric }
buffers: { frame: { memory: ddr, size: 64 KiB } }
masters: { camera: { attach: fabric0, operations: write, buffer: frame, issue: greedy } }
compare:
  median: { kind: latency, master: camera, percentile: 50 % }
  mean: { kind: latency, master: camera }
  rate: { kind: bandwidth, master: camera }
run: { warmup: 1 us, duration: 10 us }
placements: { a: {}, b: {} }
`;

const MANY_NAMES = ['a', 'b', 'c', 'd', 'e', 'f'];

/** The same with six masters, and mean and bandwidth of each. */
const MANY = `platform: { preset: quad-core-fabric }
buffers: { frame: { memory: ddr, size: 64 KiB } }
masters:
${MANY_NAMES.map((name) => `  ${name}: { attach: fabric0, operations: write, buffer: frame, issue: greedy }\n`).join('')}compare:
${MANY_NAMES.map((name) => `  ${name}_mean: { kind: latency, master: ${name} }\n`).join('')}${MANY_NAMES.map((name) => `  ${name}_rate: { kind: bandwidth, master: ${name} }\n`).join('')}run: { warmup: 1 us, duration: 10 us }
placements: { a: {}, b: {} }
`;

interface World {
  /** What the variant's latencies are multiplied by. */
  readonly factor?: number;
  /** Do both systems get the same draws? */
  readonly paired?: boolean;
  readonly text?: string;
  readonly change?: (result: ReplicationResult, placement: string) => ReplicationResult;
}

/** Compares two worlds made of random numbers: skewed latencies that rise and fall together within a replication. */
function compared(seed: string, world: World, samples = 120): Promise<Comparison> {
  const { factor = 1, paired = false, text = SMALL, change = (same) => same } = world;
  const { systems } = read(text);
  const [baseline, variant] = systems.map((system) => ({ label: system.placement, system }));
  return compareSystems(baseline!, variant!, {
    scenario: 'sample',
    seed,
    crew: made(({ system: { placement, masters }, replication }) => {
      const paths = masters.map(({ name }) => {
        const random = xor4096(`${seed}/${paired ? '' : placement}/${name}/${replication}`);
        return pathOf(name, random, samples, placement === 'b' ? factor : 1);
      });
      return change({ ...replicationSample(replication, 0), paths }, placement);
    }),
  });
}

/** Studies one after the other, so that the results of only one are kept at a time. */
async function inTurn(count: number, study: (i: number) => Promise<Comparison>): Promise<Comparison[]> {
  const studies: Comparison[] = [];
  for (let i = 0; i < count; i++) studies.push(await study(i));
  return studies;
}

/** A crew whose results are made up. */
const made = (result: (job: Job) => ReplicationResult): Crew => ({
  run: async (jobs) => jobs.map(result),
  settle: (pilots) => new Alone().settle(pilots),
});

function pathOf(master: string, random: () => number, samples: number, factor: number): PathPlain {
  const path = new PathRecord({ ...FACTS, master }, SETTINGS);
  const mood = Math.exp(0.3 * (random() + random() + random() - 1.5));
  const count = samples + Math.floor(40 * random());
  for (let i = 0; i < count; i++) {
    path.burst.of(i).record(Math.round(100_000 * mood * (0.3 - Math.log(1 - random())) * factor));
  }
  path.bytes = 64 * count;
  path.offeredBytes = path.bytes;
  return path.toPlain();
}

const SETTINGS = { fromPs: 0, toPs: WINDOW_PS, batched: false, keepAtMost: 0, limits: new Map() };

const verdicts = ({ rows }: Comparison): string[] => rows.map(({ verdict }) => verdict);

describe('the rate of errors', () => {
  it('of any false verdict at all keeps to the promise where both are alike', { timeout: 120_000 }, async () => {
    // twelve metrics that know nothing of each other: without the correction most studies would err
    const studies = await inTurn(60, (i) => compared(`alike/${i}`, { text: MANY }, 10));
    const wrong = studies.filter((study) => verdicts(study).some((verdict) => verdict.endsWith('better')));
    // at most 5 % promised: more than 9 of 60 come by chance once in 1,300
    expect(wrong.length).toBeLessThanOrEqual(9);
    // the looks go on, so that each of the four is a chance to err
    expect(studies.every(({ replications }) => replications === 80)).toBe(true);
  });

  it('of intervals that miss the true difference keeps to it too', { timeout: 120_000 }, async () => {
    // the mean is 130,000 ps times the mean of `mood`
    const truth = 130_000 * meanMood() * 0.2;
    const studies = await inTurn(40, (i) => compared(`apart/${i}`, { factor: 1.2 }));
    const missed = studies.filter(({ rows }) => rows[1]!.low! > truth || rows[1]!.high! < truth);
    // promised 5 %: more than 7 of 40 come by chance once in 1,400
    expect(missed.length).toBeLessThanOrEqual(7);
  });
});

/** E exp(0.3 (U + U + U − 1.5)): the product of three sinh(h)/h with h = 0.15. */
function meanMood(): number {
  return (Math.sinh(0.15) / 0.15) ** 3;
}

describe('a difference that is there', () => {
  it('of 30 % is found in every study, for the better system', async () => {
    for (let i = 0; i < 10; i++) {
      const study = await compared(`worse/${i}`, { factor: 1.3 });
      expect(verdicts(study).slice(0, 2)).toEqual(['baseline_better', 'baseline_better']);
      expect(verdicts(await compared(`better/${i}`, { factor: 1 / 1.3 }))[1]).toBe('variant_better');
    }
  });

  it('of 5 % is found at the first look where the draws are the same', async () => {
    const study = await compared('pairs', { factor: 1.05, paired: true });
    expect([study.replications, verdicts(study)[1]]).toEqual([10, 'baseline_better']);
    expect(study.rows[1]!.difference! / study.rows[1]!.baselineValue!).toBeCloseTo(0.05, 3);
  });
});

describe('systems that do the same on the same draws', async () => {
  const study = await compared('same', { paired: true });

  it('differ by nothing, and end at the first look', async () => {
    expect(study.replications).toBe(LOOKS[0]);
    expect(verdicts(study)).toEqual(Array.from({ length: 3 }, () => 'no_difference_shown'));
    expect(study.rows.map(({ difference }) => difference)).toEqual([0, 0, 0]);
  });

  it('leave open what the bins of a percentile leave open, and no more', async () => {
    const [median, mean] = study.rows;
    expect([mean!.low, mean!.high]).toEqual([0, 0]);
    // two halves of a bin, 1/64 to 1/128 of its value
    expect(median!.high! / median!.baselineValue!).toBeGreaterThan(1 / 130);
    expect(median!.high! / median!.baselineValue!).toBeLessThan(1 / 63);
    expect(comparisonText(study)).toContain('the same in every replication');
  });
});

describe('what cannot be judged', () => {
  it('a path that is overloaded in one of them has no latency to compare', async () => {
    const change: World['change'] = (result, placement) => ({
      ...result,
      paths: result.paths.map((path) => ({ ...path, overCapacity: placement === 'b' })),
    });
    const study = await compared('full', { paired: true, change });
    expect(verdicts(study)).toEqual(['overloaded', 'overloaded', 'no_difference_shown']);
    expect(study.rows[0]!.baselineValue).toBeNull();
    expect(comparisonText(study)).toContain('the path is overloaded in b, so its latency means');
  });

  it('a backlog that grows by chance at one look is not taken for overload', async () => {
    const change =
      (by: number): NonNullable<World['change']> =>
      (result) => ({
        ...result,
        paths: result.paths.map((path) => ({
          ...path,
          source: 'open' as const,
          offeredBytes: path.bytes + 1,
          backlogQuarters: [10, 10, 10, 10 + by + (result.replication % 2 === 0 ? 1 : -1)],
        })),
      });
    // ten replications: t = mean · √9; 2.82 is enough at 1 %, 3.36 at the error of a metric and look, 0.05/12, of which a
    // twentieth is the test's: 5.47
    expect(verdicts(await compared('calm', { paired: true, change: change(1.7) }))[1]).toBe('no_difference_shown');
    expect(verdicts(await compared('calm', { paired: true, change: change(1.9) }))[1]).toBe('overloaded');
  });

  it('too few samples beyond a percentile, and samples that had not come back', async () => {
    // of about 140 samples in a replication 1.4 lie beyond p99, and 14 beyond p90
    const of = (percentile: string) => compared('few', { paired: true, text: SMALL.replace('50 %', percentile) });
    expect(verdicts(await of('99 %'))[0]).toBe('too_few_samples');
    expect(verdicts(await of('90 %'))[0]).toBe('no_difference_shown');
    const none: World['change'] = (result) => ({
      ...result,
      paths: result.paths.map((path) => new PathRecord(path, SETTINGS).toPlain()),
    });
    expect(verdicts(await compared('none', { change: none })).slice(0, 2)).toEqual([
      'too_few_samples',
      'too_few_samples',
    ]);
    const open: World['change'] = (result) => ({
      ...result,
      paths: result.paths.map((path) => ({
        ...path,
        levels: path.levels.map((level) => ({ ...level, unfinished: 1 })),
      })),
    });
    expect(verdicts(await compared('open', { change: open })).slice(0, 2)).toEqual(['unfinished', 'unfinished']);
  });
});

describe('the looks', () => {
  it('end only at 10, 20, 40 or 80, and once all is decided or narrow', async () => {
    for (let i = 0; i < 12; i++) {
      const { replications, rows } = await compared(`looks/${i}`, { factor: 1 + i / 40 });
      expect(LOOKS).toContain(replications);
      if (replications < 80) expect(rows.every(isSettled)).toBe(true);
    }
  });

  it('are each at a level of 5 % over four times the number of metrics', async () => {
    const rates: Record<string, number[]> = { a: [], b: [] };
    const change: World['change'] = (result, placement) => {
      rates[placement]!.push((result.paths[0]!.bytes * 1e12) / WINDOW_PS);
      return result;
    };
    const { rows, replications } = await compared('level', { change });
    const differences = rates['b']!.map((rate, r) => rate - rates['a']![r]!);
    expect(differences.length).toBe(replications);
    const quantile = studentQuantile(1 - 0.05 / (4 * 3) / 2, replications - 1);
    const half = (quantile * deviationOf(differences)) / Math.sqrt(replications);
    expect((rows[2]!.high! - rows[2]!.low!) / 2).toBeCloseTo(half, 0);
  });
});

function isSettled({ verdict, baselineValue, variantValue, low, high }: ComparisonRow): boolean {
  return verdict !== 'no_difference_shown' || (high! - low!) / 2 <= NARROW * Math.max(baselineValue!, variantValue!);
}

describe('stopped by the user', () => {
  /** A crew that is stopped in the middle of its nth batch. */
  const stoppedAt = (batch: number, of: Crew): Crew => ({
    settle: (pilots) => of.settle(pilots),
    run(jobs) {
      batch -= 1;
      return batch > 0 ? of.run(jobs) : Promise.reject(new Stopped([null]));
    },
  });
  const { systems } = read(SMALL);
  const [baseline, variant] = systems.map((system) => ({ label: system.placement, system }));
  const study = (batch: number): Promise<Comparison> => {
    const crew = made(({ system: { placement }, replication }) => {
      const random = xor4096(`${placement}/${replication}`);
      return { ...replicationSample(replication, 0), paths: [pathOf('camera', random, 20, 1)] };
    });
    return compareSystems(baseline!, variant!, { scenario: 'sample', crew: stoppedAt(batch, crew) });
  };

  it('keeps what the last look said, and says so', async () => {
    const { replications, stopped, rows } = await study(3);
    expect([replications, stopped, rows.length]).toEqual([20, true, 3]);
    expect(comparisonText(await study(3))).toContain('It was stopped after 20 replications; more may show more.');
    expect((await study(9)).stopped).toBe(false);
  });

  it('fails before the first look', async () => {
    await expect(study(1)).rejects.toBeInstanceOf(Stopped);
  });
});

describe('a scenario', () => {
  it('that asks for nothing is compared by mean, p99 and bandwidth of every path', async () => {
    const [direct, coherent] = read(TINY).systems;
    expect(metricsOf(direct!, coherent!).map(({ name, kind }) => `${kind} ${name}`)).toEqual([
      'latency mean',
      'latency p99',
      'bandwidth bandwidth',
    ]);
  });

  it('is run on the same draws: both placements want the same bytes, and the closed form says which is better', async () => {
    const [direct, coherent] = read(TINY.replace('20 us', '100 us')).systems;
    const wanted: (number | null)[][] = [[], []];
    const study = await compareSystems(
      { label: 'direct', system: direct! },
      { label: 'coherent', system: coherent! },
      {
        scenario: 'tiny',
        crew: {
          settle: (pilots) => new Alone().settle(pilots),
          async run(jobs) {
            const results = await new Alone().run(jobs);
            for (const [place, { paths }] of results.entries()) {
              wanted[jobs[place]!.system.placement === 'direct' ? 0 : 1]!.push(paths[0]!.offeredBytes);
            }
            return results;
          },
        },
      },
    );
    expect(wanted[0]).toEqual(wanted[1]);
    expect(new Set(wanted[0]).size).toBeGreaterThan(5);
    const [own, other] = [direct!, coherent!].map((system) => checkSystem(system).paths[0]!.cases[0]!.minPs);
    expect(other).toBeLessThan(own!);
    expect(study.rows[0]!.verdict).toBe('variant_better');
    expect(comparisonText(study)).toMatch(/coherent is better for\n(- .*\n)*- reader read, mean burst latency: /u);
  });
});
