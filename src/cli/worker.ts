/** What a worker does with one task. The pool calls the default export in each of its threads. */
import { deserialize } from 'node:v8';
import type { SystemSpec } from '../scenario/scenario.js';
import { replicate } from '../study/replicate.js';
import { settle } from '../study/pilot.js';
import { type Answer, PARTS, type SharedSystem, type Task } from './task.js';

/** Systems that a worker keeps; the jobs of one come close together. */
const MOST_KEPT = 8;
const kept = new Map<number, SystemSpec>();

function systemOf({ id, bytes }: SharedSystem): SystemSpec {
  let system = kept.get(id);
  if (system === undefined) {
    if (kept.size >= MOST_KEPT) kept.delete(kept.keys().next().value!);
    system = deserialize(Buffer.from(bytes)) as SystemSpec;
    kept.set(id, system);
  }
  return system;
}

/** Errors come back as an answer: what is thrown loses its class on the way. */
export default function work(task: Task): Answer {
  try {
    const system = systemOf(task.system);
    if (task.kind === 'pilot') return { kind: 'pilot', settled: settle({ ...task.pilot, system }) };
    const { job, progress, place } = task;
    const onProgress = (share: number): void => void Atomics.store(progress, place, Math.floor(share * (PARTS - 1)));
    return { kind: 'job', result: replicate(system, { ...job, onProgress }) };
  } catch (error) {
    const { name, message, stack } = error instanceof Error ? error : new Error(String(error));
    return { kind: 'error', error: { name, message, stack: stack ?? message } };
  }
}
