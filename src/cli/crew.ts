import { setImmediate } from 'node:timers/promises';
import type { Crew } from '../study/crew.js';
import type { Io } from './io.js';

/** How often a job on this thread looks up, so that Ctrl-C is heard soon and costs nothing. */
const LOOK_MS = 50;

/**
 * Gives a crew of so many workers to some work: all processors where nobody says how many, and with one this thread alone.
 * Ctrl-C stops it (`Stopped`), and a second one ends the program at once. The workers end with the work, however it ends.
 */
export async function withCrew<T>(workers: number | undefined, io: Io, work: (crew: Crew) => Promise<T>): Promise<T> {
  const stop = new AbortController();
  const count = workers ?? io.processors;
  const { Alone, Stopped } = await import('../study/crew.js');
  let lookedAt = performance.now();
  const alone = new Alone({}, () => {
    if (performance.now() - lookedAt < LOOK_MS) return undefined;
    return setImmediate().then(() => {
      lookedAt = performance.now();
      if (stop.signal.aborted) throw new Stopped();
    });
  });
  const unheard = io.onInterrupt(() => stop.abort());
  try {
    if (count === 1) return await work(alone);
    const { WorkerCrew } = await import('./worker-crew.js');
    const crew = new WorkerCrew(count, alone, stop.signal);
    try {
      return await work(crew);
    } finally {
      await crew.dismiss();
    }
  } finally {
    unheard();
  }
}
