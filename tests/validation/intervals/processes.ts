import { type ChildProcess, fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { INLINE_MORE } from '../../../src/cli/compiler.js';
import type { Outcome, Task } from './tasks.js';

const WORKER = fileURLToPath(new URL('worker.ts', import.meta.url));

/** Performs all tasks in so many processes; `onDone` is told of each, in the order in which they end. */
export function performAll(
  tasks: readonly Task[],
  processes: number,
  onDone: (outcome: Outcome) => void,
): Promise<void> {
  const waiting = tasks.values();
  const one = (): Promise<void> =>
    new Promise((resolve, reject) => {
      const child = fork(WORKER, { execArgv: [...INLINE_MORE, '--import', 'tsx'] });
      child.on('message', (outcome: Outcome) => {
        onDone(outcome);
        give(child);
      });
      child.on('exit', (code) => (code === 0 ? resolve() : reject(new Error(`a process ended with code ${code}`))));
      give(child);
    });
  const give = (child: ChildProcess): void => {
    const next = waiting.next();
    if (next.done) child.disconnect();
    else child.send(next.value);
  };
  return Promise.all(Array.from({ length: Math.min(processes, tasks.length) }, one)).then(() => undefined);
}
