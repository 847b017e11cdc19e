import { Histogram, mergeAll } from '../statistics/histogram.js';
import { BEYOND_FOR_VALUE } from '../statistics/intervals.js';
import type { BlamePlain } from '../journey/blame-tally.js';
import { STAGES } from '../journey/stage.js';
import { allBursts, slowest, type StageMeans, type StagesPlain } from '../journey/stage-tally.js';
import { onlyReplication, type PooledPath } from './path-rows.js';
import type { BlameRow, RowBase, StageRow } from './rows.js';

/** Share of the bursts that count as the slow ones. */
const SLOW = 0.01;

type Base = Omit<RowBase, 'replication'>;

/** The rows of one path in stages.csv: for each replication and then for all, every stage of all bursts and of the slowest. */
export function stageRows(path: PooledPath, base: Base): StageRow[] {
  return eachThenAll(path).flatMap(([replication, { records, facts }]) => {
    const parts = records.map(({ stages }) => stages).filter((stages) => stages !== null);
    if (parts.length === 0) return [];
    const { master, port, target, operation } = facts;
    const followed = total(parts.map((part) => part.followed)) / total(parts.map(({ count }) => count));
    // nothing to follow is followed whole
    const followedShare = Number.isNaN(followed) ? 1 : followed;
    const start = { ...base, replication, master, port, target, operation, followedShare };
    const tail = slowest(parts, SLOW);
    return [
      ...rowsOf({ ...start, part: 'all' }, allBursts(parts), (stage) => percentile99(parts, stage)),
      ...(tail.count < BEYOND_FOR_VALUE ? [] : rowsOf({ ...start, part: 'slowest_1_percent' }, tail, () => null)),
    ];
  });
}

/** The rows of one path in blame.csv: for each replication and then for all, whom it waited for, the most first. */
export function blameRows(path: PooledPath, base: Base): BlameRow[] {
  return eachThenAll(path).flatMap(([replication, { records, facts }]) => {
    const parts = records.map(({ blame }) => blame).filter((blame) => blame !== null);
    const count = total(parts.map((part) => part.count));
    const charged = total(parts.map((part) => part.charged));
    const victim = `${facts.master} ${facts.operation}`;
    return summed(parts).map(({ culprit, element, ps }) => ({
      ...base,
      replication,
      victim,
      culprit,
      element,
      meanPs: ps / count,
      totalPs: ps,
      chargedShare: charged / count,
    }));
  });
}

function eachThenAll(path: PooledPath): [number | 'all', PooledPath][] {
  const each = path.replications.map(({ replication }, r): [number, PooledPath] => [
    replication,
    onlyReplication(path, r),
  ]);
  return [...each, ['all', path]];
}

function rowsOf(
  start: Omit<StageRow, 'stage' | 'meanPs' | 'p99Ps' | 'share'>,
  { count, sumsPs }: StageMeans,
  p99Of: (stage: number) => number | null,
): StageRow[] {
  const whole = total(sumsPs);
  return STAGES.map(({ name }, stage) => ({
    ...start,
    stage: name,
    meanPs: count > 0 ? sumsPs[stage]! / count : null,
    p99Ps: p99Of(stage),
    share: whole > 0 ? sumsPs[stage]! / whole : null,
  }));
}

function percentile99(parts: readonly StagesPlain[], stage: number): number | null {
  const histograms = parts.map(({ histograms: of }) => Histogram.fromPlain(of[stage]!));
  const merged = mergeAll(histograms[0]!.name, histograms);
  return merged.count * SLOW < BEYOND_FOR_VALUE ? null : merged.quantile(1 - SLOW);
}

/** Charges of several replications, equal ones together, the largest first. */
function summed(parts: readonly BlamePlain[]): BlamePlain['charges'] {
  const sums = new Map<string, { culprit: string; element: string; ps: number }>();
  for (const { charges } of parts) {
    for (const { culprit, element, ps } of charges) {
      const key = `${culprit}\u0000${element}`;
      const known = sums.get(key);
      sums.set(key, { culprit, element, ps: (known?.ps ?? 0) + ps });
    }
  }
  return [...sums.values()].toSorted((a, b) => b.ps - a.ps);
}

const total = (series: readonly number[]): number => series.reduce((sum, x) => sum + x, 0);
