import type { ReplicationResult } from '../measure/results.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { replicate, type Watch } from './replicate.js';

/** One replication, for whoever is free to simulate it. Plain data, so that it can cross a worker's border. */
export interface Job {
  readonly system: SystemSpec;
  readonly seed: string;
  /** From 1. */
  readonly replication: number;
  /** Of the whole study: a single one is cut into batches. */
  readonly replications: number;
  readonly warmupPs: number;
}

/** Those who simulate. */
export interface Crew {
  /**
   * Simulates all jobs; answers their results in the order of the jobs, whoever finishes first. `onProgress` is told now
   * and then how much of them is done, 0 to 1.
   */
  run(jobs: readonly Job[], onProgress?: (share: number) => void): Promise<ReplicationResult[]>;
}

/** A crew of one: this thread, one job after the other, each under the same watch. */
export class Alone implements Crew {
  constructor(private readonly watch: Watch = {}) {}

  async run(jobs: readonly Job[], onProgress?: (share: number) => void): Promise<ReplicationResult[]> {
    return this.runNow(jobs, onProgress);
  }

  /** The same, for who cannot wait. */
  runNow(jobs: readonly Job[], onProgress?: (share: number) => void): ReplicationResult[] {
    return jobs.map((job, done) =>
      replicate(job.system, { ...job, onProgress: (share) => onProgress?.((done + share) / jobs.length) }, this.watch),
    );
  }
}
