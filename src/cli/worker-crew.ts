import { totalmem } from 'node:os';
import { extname } from 'node:path';
import { serialize } from 'node:v8';
import { Piscina } from 'piscina';
import { UsageError } from '../errors.js';
import { TooManyValuesError } from '../measure/statistics/kept-values.js';
import type { ReplicationResult } from '../measure/results.js';
import { StuckError } from '../model/simulation.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { Alone, type Crew, type Job, Stopped } from '../study/crew.js';
import type { Watch } from '../study/replicate.js';
import type { Pilot, Settled } from '../study/pilot.js';
import { type Answer, PARTS, type PlainError, type SharedSystem, type Task } from './task.js';

/** How often progress is told. */
const TELL_MS = 100;
const MIB = 2 ** 20;
/** Of the machine's memory, what all workers together may take for objects; and what one of them gets at least and at most. */
const MEMORY_SHARE = 0.75;
const LEAST_MIB = 256;
const MOST_MIB = 4096;

const ENDING = extname(import.meta.url);
const WORKER = new URL(`./worker${ENDING}`, import.meta.url);
/** Run from its sources, by tests, it has its workers do so too. */
const EXEC = ENDING === '.ts' ? { execArgv: ['--import', import.meta.resolve('tsx')] } : {};

/** The end of one batch of tasks before its time. */
type Fail = (error: unknown) => void;

/**
 * Worker threads, started when there is work for more than one and kept, with their compiled code, until `dismiss`. The
 * first failure of any of them ends the work: nothing is tried again, since a job that fails once fails again.
 */
export class WorkerCrew implements Crew {
  private pool: Piscina<Task, Answer> | null = null;
  private dismissal: Promise<void> | null = null;
  private readonly shared = new WeakMap<SystemSpec, SharedSystem>();
  private systems = 0;
  private fail: Fail = () => {};

  /**
   * @param count of workers at most
   * @param alone does what is to be done on this thread
   * @param stop ends the work with `Stopped`
   * @param worker file that each of them runs
   */
  constructor(
    private readonly count: number,
    private readonly alone: Alone,
    private readonly stop: AbortSignal,
    private readonly worker = WORKER,
  ) {}

  async run(jobs: readonly Job[], onProgress?: (share: number) => void, watch?: Watch): Promise<ReplicationResult[]> {
    if (watch !== undefined || this.isTooFew(jobs)) return this.alone.run(jobs, onProgress, watch);
    const progress = new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT * jobs.length));
    const tell = (): void => {
      const parts = progress.reduce((sum, _, place) => sum + Atomics.load(progress, place), 0);
      onProgress?.(parts / PARTS / jobs.length);
    };
    const ticker = setInterval(tell, TELL_MS);
    try {
      const tasks = jobs.map(({ system, ...job }, place): Task => ({
        kind: 'job',
        system: this.share(system),
        job,
        progress,
        place,
      }));
      const resultOf = (answer: Answer) => (answer as Extract<Answer, { kind: 'job' }>).result;
      // a job is done when its result is here: who is told so may stop the work and have it
      const done = (place: number): void => {
        Atomics.store(progress, place, PARTS);
        tell();
      };
      return await this.all(tasks, resultOf, (results) => new Stopped(results), done);
    } finally {
      clearInterval(ticker);
    }
  }

  async settle(pilots: readonly Pilot[]): Promise<Settled[]> {
    if (this.isTooFew(pilots)) return this.alone.settle(pilots);
    const tasks = pilots.map(({ system, ...pilot }): Task => ({ kind: 'pilot', system: this.share(system), pilot }));
    const settledOf = (answer: Answer) => (answer as Extract<Answer, { kind: 'pilot' }>).settled;
    return this.all(tasks, settledOf, () => new Stopped());
  }

  /** Ends all workers, whatever they do; answers when they have ended. */
  dismiss(): Promise<void> {
    this.dismissal ??= this.pool === null ? Promise.resolve() : this.pool.destroy();
    return this.dismissal;
  }

  /** A worker that has to be started first gains nothing for a single job. */
  private isTooFew(work: readonly unknown[]): boolean {
    return work.length < 2 && this.pool === null;
  }

  private async all<T>(
    tasks: readonly Task[],
    read: (answer: Answer) => T,
    stopped: (results: readonly (T | null)[]) => Stopped,
    done: (place: number) => void = () => {},
  ): Promise<T[]> {
    const results: (T | null)[] = tasks.map(() => null);
    const { promise, resolve, reject } = deferred<void>();
    const onStop = (): void => this.fail(stopped([...results]));
    // whatever happens first ends the batch; what comes of it later goes nowhere
    this.fail = (error) => {
      reject(error);
      void this.dismiss();
    };
    this.stop.addEventListener('abort', onStop, { once: true });
    try {
      if (this.stop.aborted) throw stopped(results);
      if (this.dismissal !== null) throw new Error('this crew was dismissed');
      const pool = (this.pool ??= this.start(tasks.length));
      let left = tasks.length;
      for (const [place, task] of tasks.entries()) {
        pool.run(task).then(
          (answer) => {
            if (answer.kind === 'error') return this.fail(revived(answer.error));
            results[place] = read(answer);
            done(place);
            if (--left === 0) resolve();
          },
          (error: unknown) => this.fail(deathOf(error, this.memoryMib)),
        );
      }
      await promise;
      return results as T[];
    } finally {
      this.stop.removeEventListener('abort', onStop);
      this.fail = () => {};
    }
  }

  private start(tasks: number): Piscina<Task, Answer> {
    const pool = new Piscina<Task, Answer>({
      filename: this.worker.href,
      minThreads: Math.min(this.count, tasks),
      maxThreads: this.count,
      // compiled code goes with a worker: it stays from batch to batch
      idleTimeout: Infinity,
      // jobs take long, so that a quicker way to tell of them is of no use
      atomics: 'disabled',
      resourceLimits: { maxOldGenerationSizeMb: this.memoryMib },
      ...EXEC,
    });
    // a worker that cannot start, or ends between two jobs, fails no task: without this the work would wait for ever
    pool.on('error', (error: unknown) => this.fail(deathOf(error, this.memoryMib)));
    pool.on('workerDestroy', () => {
      if (this.dismissal === null) setImmediate(() => this.fail(new Error('a worker thread ended by itself')));
    });
    return pool;
  }

  private get memoryMib(): number {
    const limit = process.constrainedMemory() ?? 0;
    const machine = limit > 0 ? Math.min(limit, totalmem()) : totalmem();
    const each = Math.floor((MEMORY_SHARE * machine) / MIB / this.count);
    return Math.min(MOST_MIB, Math.max(LEAST_MIB, each));
  }

  private share(system: SystemSpec): SharedSystem {
    let shared = this.shared.get(system);
    if (shared === undefined) {
      const text = serialize(system);
      const bytes = new SharedArrayBuffer(text.byteLength);
      new Uint8Array(bytes).set(text);
      shared = { id: this.systems++, bytes };
      this.shared.set(system, shared);
    }
    return shared;
  }
}

interface Deferred<T> {
  promise: Promise<T>;
  resolve: (value: T) => void;
  reject: (error: unknown) => void;
}

function deferred<T>(): Deferred<T> {
  let resolve!: Deferred<T>['resolve'];
  let reject!: Deferred<T>['reject'];
  const promise = new Promise<T>((yes, no) => {
    resolve = yes;
    reject = no;
  });
  // it may fail before anybody waits for it
  promise.catch(() => {});
  return { promise, resolve, reject };
}

const CLASSES = new Map<string, new (message: string) => Error>([
  ['StuckError', StuckError],
  ['TooManyValuesError', TooManyValuesError],
  ['UsageError', UsageError],
]);

/** An error of a worker, of the class that it had there. */
function revived({ name, message, stack }: PlainError): Error {
  const Class = CLASSES.get(name) ?? Error;
  const error = new Class(message);
  if (Class === Error) error.name = name;
  error.stack = stack;
  return error;
}

/** What a worker that ended died of. */
function deathOf(error: unknown, memoryMib: number): unknown {
  if (!(error instanceof Error) || !('code' in error) || error.code !== 'ERR_WORKER_OUT_OF_MEMORY') return error;
  return new UsageError(
    `a replication needs more than the ${memoryMib} MiB that each worker may take; ` +
      'give --workers a smaller number, or shorten the run',
  );
}
