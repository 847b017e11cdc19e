import { serialize } from 'node:v8';
import { expect, onTestFinished, test } from 'vitest';
import { PARTS } from '../../src/cli/task.js';
import work from '../../src/cli/worker.js';
import { WorkerCrew } from '../../src/cli/worker-crew.js';
import { UsageError } from '../../src/errors.js';
import { TooManyValuesError } from '../../src/measure/statistics/kept-values.js';
import { Alone, type Job, Stopped } from '../../src/study/crew.js';
import { read } from '../scenario/reading.js';
import { TINY } from './rig.js';

const LONG = { timeout: 60_000 };

/** Jobs of both placements in turn. */
function jobs(count: number, duration = '20 us', change: Partial<Job> = {}): Job[] {
  const { systems } = read(TINY.replace('20 us', duration));
  return Array.from({ length: count }, (_, place) => ({
    system: systems[place % 2]!,
    seed: 'crew',
    replication: 1 + Math.floor(place / 2),
    replications: count,
    warmupPs: 1_000_000,
    ...change,
  }));
}

/** A crew that is gone when the test is over. */
function crewOf(workers: number, stop = new AbortController(), file?: string): WorkerCrew {
  const worker = file === undefined ? undefined : new URL(`workers/${file}`, import.meta.url);
  const crew = new WorkerCrew(workers, new Alone(), stop.signal, worker);
  onTestFinished(() => crew.dismiss());
  return crew;
}

test('results and pilots are those of this thread, batch after batch, in the order of the jobs', LONG, async () => {
  const crew = crewOf(3);
  const alone = new Alone();
  for (const count of [7, 2, 1]) expect(await crew.run(jobs(count))).toEqual(await alone.run(jobs(count)));
  const pilots = jobs(3).map(({ system }) => ({ system, seed: 'crew', lengthPs: 40_000_000 }));
  expect(await crew.settle(pilots)).toEqual(await alone.settle(pilots));
});

test('progress is told within jobs, never falls and ends with all of them', LONG, async () => {
  const told: number[] = [];
  await crewOf(2).run(jobs(2, '10 ms'), (share) => told.push(share));
  expect(told).toEqual(told.toSorted((a, b) => a - b));
  expect(told.filter((share) => share > 0 && share < 0.5).length).toBeGreaterThan(0);
  expect(told.at(-1)).toBe(1);
});

test('a job is wholly done for those who have its result, not for the worker that is about to send it', () => {
  const progress = new Int32Array(new SharedArrayBuffer(4));
  const [{ system, ...job }] = jobs(1) as [Job];
  const bytes = serialize(system);
  const shared = new SharedArrayBuffer(bytes.byteLength);
  new Uint8Array(shared).set(bytes);
  expect(work({ kind: 'job', system: { id: 0, bytes: shared }, job, progress, place: 0 }).kind).toBe('job');
  expect(progress[0]).toBe(PARTS - 1);
});

test('a single job, and jobs under a watch, need no worker', async () => {
  const crew = crewOf(2, new AbortController(), 'cannot-start.mjs');
  expect(await crew.run(jobs(1))).toHaveLength(1);
  expect(await crew.run(jobs(2), undefined, {})).toHaveLength(2);
});

test('an error keeps its class, its message and where it came up', LONG, async () => {
  const [{ system }] = jobs(1) as [Job];
  // so many replications leave room for one value each
  const exact = jobs(4, '20 us', {
    system: { ...system, run: { ...system.run, exact: true } },
    replications: 10_000_000,
  });
  const [own, theirs] = await Promise.all([new Alone().run(exact), crewOf(2).run(exact)].map(failure));
  expect(theirs).toBeInstanceOf(TooManyValuesError);
  expect(theirs!.message).toBe(own!.message);
  expect(theirs!.stack).toContain('kept-values');
});

test('an error that nobody foresaw fails the work, and so does all work after it', LONG, async () => {
  const [first, ...others] = jobs(4);
  const broken = { ...first!, system: { ...first!.system, masters: [{ ...first!.system.masters[0]!, buffer: '' }] } };
  const crew = crewOf(2);
  expect((await failure(crew.run([broken, ...others]))).name).toBe('TypeError');
  expect((await failure(crew.run(others))).message).toContain('dismissed');
});

test.each([
  ['leaves.mjs', 'exited with code: 3'],
  ['leaves-at-once.mjs', 'exited with code: 3'],
  ['cannot-start.mjs', 'no such library'],
])('a worker that dies (%s) fails the work instead of leaving it open', LONG, async (file, words) => {
  expect((await failure(crewOf(2, new AbortController(), file).run(jobs(6)))).message).toContain(words);
});

test('a worker that runs out of memory says what to do', LONG, async () => {
  const crew = crewOf(300, new AbortController(), 'hoards.mjs');
  const error = await failure(crew.run(jobs(2)));
  expect(error).toBeInstanceOf(UsageError);
  expect(error.message).toMatch(/more than the \d+ MiB that each worker may take; give --workers a smaller number/u);
});

test('a stop ends at once what takes long, and keeps what is finished, by its place', LONG, async () => {
  const stop = new AbortController();
  const [endless] = jobs(1, '1000 s');
  const short = jobs(3);
  const stopped = await failure(
    crewOf(2, stop).run([endless!, ...short], (share) => {
      // three of four are there
      if (share >= 0.75) stop.abort();
    }),
  );
  expect(stopped).toBeInstanceOf(Stopped);
  const { results } = stopped as Stopped;
  expect(results[0]).toBeNull();
  expect(results.slice(1)).toEqual(await new Alone().run(short));
});

test('who has stopped already starts nothing', async () => {
  const stop = new AbortController();
  stop.abort();
  expect(await failure(crewOf(2, stop, 'cannot-start.mjs').run(jobs(2)))).toBeInstanceOf(Stopped);
});

/** What some work fails with. */
async function failure(work: Promise<unknown>): Promise<Error> {
  try {
    await work;
  } catch (error) {
    return error as Error;
  }
  throw new Error('it did not fail');
}
