import type { ReplicationResult } from '../results.js';
import type { QueueRow, RowBase, TimelineRow } from './rows.js';
import type { TimelinePlain } from '../timeline.js';

type Base = Omit<RowBase, 'replication'>;

/**
 * timeline.csv: window by window, a row a master. Of the replications that kept their course only, and never pooled: each
 * has draws of its own, so that what is a burst in one is a pause in another.
 */
export function* timelineRows(replications: readonly ReplicationResult[], base: Base): Generator<TimelineRow> {
  for (const { row, timeline, window, startPs, lengthPs } of windowsOf(replications, base)) {
    for (const { master, windows } of timeline.masters) {
      const { readBytes, writeBytes, bursts, sumPs, maxPs } = windows[window]!;
      yield {
        ...row,
        startPs,
        master,
        readBytesPerS: (readBytes * 1e12) / lengthPs,
        writeBytesPerS: (writeBytes * 1e12) / lengthPs,
        meanPs: bursts > 0 ? sumPs / bursts : null,
        maxPs: bursts > 0 ? maxPs : null,
      };
    }
  }
}

/** queues.csv: window by window, a row for each element that ever held a burst in its queues. */
export function* queueRows(replications: readonly ReplicationResult[], base: Base): Generator<QueueRow> {
  for (const { row, timeline, window, startPs, lengthPs } of windowsOf(replications, base)) {
    for (const { element, windows } of timeline.queues) {
      const { areaPs, peak } = windows[window]!;
      yield { ...row, startPs, element, meanDepth: areaPs / lengthPs, maxDepth: peak };
    }
  }
}

function* windowsOf(
  replications: readonly ReplicationResult[],
  base: Base,
): Generator<{ row: RowBase; timeline: TimelinePlain; window: number; startPs: number; lengthPs: number }> {
  for (const { replication, timeline } of replications) {
    if (timeline === null) continue;
    const { fromPs, toPs, widthPs } = timeline;
    for (let window = 0, startPs = fromPs; startPs < toPs; window++, startPs += widthPs) {
      const lengthPs = Math.min(widthPs, toPs - startPs);
      yield { row: { ...base, replication }, timeline, window, startPs, lengthPs };
    }
  }
}
