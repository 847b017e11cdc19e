/** Samples of levels as replications have left them, put together for what is said of all of them. */
import { type Clusters, makeClusters } from './statistics/clusters.js';
import { Histogram, mergeAll } from './statistics/histogram.js';
import type { LevelPlain } from './path-record.js';

/** One level by replication: a cluster each, or the batches of the only one if it has any. */
export function clustersOf(levels: readonly LevelPlain[], windowPs: number, load: number): Clusters {
  const batched = levels.length === 1 && levels[0]!.batches.length > 0;
  const plain = batched ? levels[0]!.batches : levels.map(({ histogram }) => histogram);
  return makeClusters({
    kind: batched ? 'batches' : 'replications',
    parts: plain.map((part) => Histogram.fromPlain(part)),
    unfinished: batched ? levels[0]!.unfinishedByBatch : levels.map(({ unfinished }) => unfinished),
    unfinishedFromPs: youngest(levels),
    windowPs,
    load,
  });
}

/** By replication several levels, at least one: what each has in all is a cluster. */
export function mergedClusters(name: string, levels: readonly (readonly LevelPlain[])[], windowPs: number): Clusters {
  return makeClusters({
    kind: 'replications',
    parts: mergedLevels(name, levels),
    unfinished: levels.map((own) => own.reduce((sum, { unfinished }) => sum + unfinished, 0)),
    unfinishedFromPs: youngest(levels.flat()),
    windowPs,
    // asked of batches only
    load: 0,
  });
}

/** The same as histograms alone. */
export function mergedLevels(name: string, levels: readonly (readonly LevelPlain[])[]): Histogram[] {
  return levels.map((own) =>
    mergeAll(
      name,
      own.map(({ histogram }) => Histogram.fromPlain(histogram)),
    ),
  );
}

function youngest(levels: readonly LevelPlain[]): number {
  return Math.min(...levels.map(({ youngestUnfinishedPs }) => youngestUnfinishedPs ?? Infinity));
}
