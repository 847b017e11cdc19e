import type { ReplicationResult } from '../measure/results.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { replicate, replicating, type Watch } from './replicate.js';
import { type Pilot, type Settled, settling } from './pilot.js';
import type { Steps } from './steps.js';

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

/** Some replications of a system one after the other, all that there are unless told otherwise. */
export function jobsOf(shared: Omit<Job, 'replication'>, first = 1, last = shared.replications): Job[] {
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, place) => ({
    ...shared,
    replication: first + place,
  }));
}

/** Those who simulate. Both promises fail with `Stopped` where the user wants no more. */
export interface Crew {
  /**
   * Simulates all jobs; answers their results in the order of the jobs, whoever finishes first. `onProgress` is told now
   * and then how much of them is done, 0 to 1. Under a watch they run on this thread, where it looks.
   */
  run(jobs: readonly Job[], onProgress?: (share: number) => void, watch?: Watch): Promise<ReplicationResult[]>;
  /** Simulates pilots; answers in their order. */
  settle(pilots: readonly Pilot[]): Promise<Settled[]>;
}

/** The user wants no more: work was left before its end. */
export class Stopped extends Error {
  override readonly name = 'Stopped';

  /** @param results of the jobs by their place; null or missing where one was not finished */
  constructor(readonly results: readonly (ReplicationResult | null)[] = []) {
    super('stopped before there was a result: nothing is kept');
  }
}

/** What a crew brought, by the place of its job; where the user stopped it, null or missing for what was not finished. */
export type Kept =
  | { readonly results: readonly ReplicationResult[]; readonly stop: null }
  | { readonly results: readonly (ReplicationResult | null)[]; readonly stop: Stopped };

/** Waits for a crew, and takes being stopped for an answer. */
export async function keptOf(work: Promise<readonly ReplicationResult[]>): Promise<Kept> {
  try {
    return { results: await work, stop: null };
  } catch (error) {
    if (error instanceof Stopped) return { results: error.results, stop: error };
    throw error;
  }
}

/** A crew of one: this thread, one job after the other, each under the same watch. */
export class Alone implements Crew {
  /** @param pause is awaited again and again within a job, so that the world is heard; fails with `Stopped` to stop it */
  constructor(
    private readonly watch: Watch = {},
    private readonly pause: () => Promise<void> | void = () => {},
  ) {}

  async run(
    jobs: readonly Job[],
    onProgress?: (share: number) => void,
    watch = this.watch,
  ): Promise<ReplicationResult[]> {
    const results: ReplicationResult[] = [];
    try {
      for (const job of jobs) {
        const told = (share: number) => onProgress?.((results.length + share) / jobs.length);
        results.push(await this.walk(replicating(job.system, job, watch), told));
      }
    } catch (error) {
      throw error instanceof Stopped ? new Stopped(results) : error;
    }
    return results;
  }

  async settle(pilots: readonly Pilot[]): Promise<Settled[]> {
    const settled: Settled[] = [];
    for (const pilot of pilots) settled.push(await this.walk(settling(pilot)));
    return settled;
  }

  /** The results of the jobs, for who cannot wait. */
  runNow(jobs: readonly Job[]): ReplicationResult[] {
    return jobs.map((job) => replicate(job.system, job, this.watch));
  }

  private async walk<T>(steps: Steps<T>, onProgress?: (share: number) => void): Promise<T> {
    for (;;) {
      const { done, value } = steps.next();
      if (done === true) return value;
      onProgress?.(value);
      const pause = this.pause();
      // not to be put off by each step where there is nothing to wait for
      if (pause !== undefined) await pause;
    }
  }
}
