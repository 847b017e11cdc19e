import { limitsOf } from '../measure/budgets.js';
import { KEPT_CAP } from '../measure/statistics/kept-values.js';
import { LoggingRecorder, type Logs } from '../measure/logs/logging-recorder.js';
import { Recorder } from '../measure/recorder.js';
import { timelineWidth } from '../measure/timeline.js';
import type { ReplicationResult } from '../measure/results.js';
import { Simulation } from '../model/simulation.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { loadOf } from './offered-load.js';
import { type Steps, walkThrough } from './steps.js';

/** How one replication of a study is run. */
export interface ReplicationOptions {
  readonly seed: string;
  /** From 1. */
  readonly replication: number;
  /** Of the whole study: a single one is cut into batches. */
  readonly replications: number;
  readonly warmupPs: number;
  readonly onProgress?: (share: number) => void;
}

/** What else may be looked at while a replication runs; results are the same with it and without. */
export interface Watch extends Logs {
  /** Draws that shuffle the order of events within a phase, to prove that no result depends on it. */
  readonly shuffle?: () => number;
}

/** Simulates one replication of one placement and answers what it brought, as plain data. */
export function replicate(system: SystemSpec, options: ReplicationOptions, watch: Watch = {}): ReplicationResult {
  return walkThrough(replicating(system, options, watch), options.onProgress);
}

/** The same for who has to look up in between. */
export function* replicating(
  system: SystemSpec,
  options: ReplicationOptions,
  watch: Watch = {},
): Steps<ReplicationResult> {
  const { seed, replication, replications, warmupPs } = options;
  const { shuffle, ...logs } = watch;
  const { durationPs, drainPs, exact, journeys, timeline } = system.run;
  const settings = {
    fromPs: warmupPs,
    toPs: warmupPs + durationPs,
    batched: replications === 1,
    keepAtMost: exact ? Math.floor(KEPT_CAP / replications) : 0,
    limits: limitsOf(system.budgets),
    overCapacity: loadOf(system).overloadedPaths,
    journeys,
    // a course over time is that of one replication's draws: of others it would be another one
    timelinePs: replication === 1 ? timelineWidth(timeline, durationPs) : null,
  };
  const logging = Object.keys(logs).length > 0;
  const recorder = logging ? new LoggingRecorder(system, settings, logs) : new Recorder(system, settings);
  const simulation = new Simulation(system, {
    seed,
    replication,
    warmupPs,
    durationPs,
    drainPs,
    probe: recorder,
    ...(shuffle === undefined ? {} : { shuffle }),
  });
  recorder.watch(simulation);
  yield* simulation.steps();
  return recorder.result(replication);
}
