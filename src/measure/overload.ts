import { levelsOf, pathsOf } from './subject.js';
import type { Level, Operation, PathPlain } from './path-record.js';
import type { ReplicationResult } from './results.js';
import { isOverloaded } from './state.js';

/** Whose latency is asked about. */
export interface Asked {
  readonly master: string;
  /** null: both. */
  readonly operation: Operation | null;
  readonly level: Level;
}

/** Of the paths asked about, those whose backlog grows without end, as in latency.csv: their latency means nothing. */
export function overloadedPaths(
  replications: readonly ReplicationResult[],
  asked: Asked,
  confidence?: number,
): PathPlain[] {
  return pathsOf(replications[0]!, asked).filter((path) => {
    const evidence = replications.map((replication) => {
      const own = { ...asked, operation: path.operation };
      const [record] = pathsOf(replication, own);
      const [level] = levelsOf(replication, own);
      return {
        count: level!.histogram.count,
        unfinished: level!.unfinished,
        carriedBytes: record!.bytes,
        offeredBytes: record!.offeredBytes,
        backlogQuarters: record!.backlogQuarters,
      };
    });
    return isOverloaded(path.source, path.overCapacity, evidence, confidence);
  });
}
