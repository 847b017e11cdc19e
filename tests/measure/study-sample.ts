import { xor4096 } from 'seedrandom';
import { type PathFacts, PathRecord } from '../../src/measure/path-record.js';
import type { ReplicationResult, StudyResult } from '../../src/measure/results.js';

/** A study made by hand, for the tests of rows and of output. */

export const FACTS: PathFacts = {
  master: 'camera',
  port: 'fabric0',
  target: 'ddr',
  operation: 'write',
  source: 'open',
  route: ['fabric0', 'ddr'],
  overCapacity: false,
};

export const WINDOW_PS = 1_000_000_000;

/** One replication: `bursts` exponential latencies of 200 ns on a floor of 80 ns, and counters that differ by number. */
export function replicationSample(replication: number, bursts: number): ReplicationResult {
  const random = xor4096(`sample/${replication}`);
  const settings = { fromPs: 0, toPs: WINDOW_PS, batched: false, keepAtMost: 0, limits: new Map() };
  const camera = new PathRecord(FACTS, settings);
  const dma = new PathRecord({ ...FACTS, master: 'dma', operation: 'read', source: 'greedy' }, settings);
  for (let i = 0; i < bursts; i++) {
    const latency = 80_000 + Math.round(-200_000 * Math.log(1 - random()));
    for (const level of [camera.burst, camera.port, camera.transfer]) level.of(i).record(latency);
  }
  camera.bytes = 64 * bursts;
  camera.offeredBytes = 64 * bursts;
  dma.burst.leaveOpen(500, 10);
  return {
    replication,
    windowPs: WINDOW_PS,
    simulatedPs: 1.5 * WINDOW_PS,
    events: 1000 + replication,
    paths: [camera.toPlain(), dma.toPlain()],
    tasks: [],
    elements: [
      {
        element: 'fabric0',
        kind: 'port',
        busyPs: 2e8 * replication,
        servers: 1,
        queueAreaPs: 5e8,
        maxQueue: replication,
        grants: 10,
        stallPs: 1e8,
      },
      { element: 'flash', kind: 'device', busyPs: 1e9, servers: 2, queueAreaPs: 0, maxQueue: 1, grants: 4, stallPs: 0 },
    ],
    channels: [
      {
        memory: 'ddr',
        channel: 0,
        rowHits: 6,
        rowEmpties: 3,
        rowConflicts: 1,
        refreshPs: 4e7,
        turnaroundPs: 2e7,
        beats: 80,
        wastedBeats: 8,
        readBytes: 1e6 * replication,
        writeBytes: 5e5,
        peakBytesPerS: 6.4e9,
        columnAccesses: 10,
      },
    ],
    caches: [
      {
        cache: 'l2',
        master: 'core0',
        lookups: 100,
        hits: 60 + replication,
        misses: 30,
        merged: 10 - replication,
        evictions: 5,
        writebacks: 2,
        interventions: 1,
        staleReads: 0,
      },
      {
        cache: 'l2',
        master: 'camera',
        lookups: 0,
        hits: 0,
        misses: 0,
        merged: 0,
        evictions: 0,
        writebacks: 0,
        interventions: 0,
        staleReads: 3,
      },
    ],
    timeline: null,
    warnings: [{ text: 'camera read stale data in frame', count: 3 }],
  };
}

export function studySample(replications: number, bursts: number): StudyResult {
  return {
    scenario: 'sample',
    title: 'Does the camera fit?',
    seed: 'one',
    version: '0.1.0',
    warmupPs: 20_000_000,
    stopped: false,
    placements: [
      {
        placement: 'fabric',
        budgets: [],
        replications: Array.from({ length: replications }, (_, r) => replicationSample(r + 1, bursts)),
      },
    ],
    warnings: [{ text: 'fabric0 is asked for 104 %', count: 1 }],
  };
}
